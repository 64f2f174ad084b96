#include "judge.h"

#include <algorithm>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <nlohmann/json.hpp>
#include <poll.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace stripwright;
using namespace stripwright::faults;

namespace {

constexpr double longestCaseS = 240;

struct Options {
    std::vector<std::string> only, phases;
    std::string line = "both", traces; // folder for what the plates saw; empty: it is thrown away
    int jobs = 8;                      // they mostly wait
    double plateSpeed = 8, lineSpeed = 4;
    bool list = false, whole = false;
};

[[noreturn]] void usage()
{
    std::fprintf(
        stderr, "usage: faults_matrix [--only FAULT]... [--phase PHASE]... [--line tcp|tty|both] [--jobs N]\n"
                "                     [--plate-speed N] [--line-speed N] [--whole] [--list]\n"
                "                     [--traces FOLDER]\n"
                "phases: idle preheat soak reflow cool; --whole: every row over both lines, not only those\n"
                "that the line makes a difference to\n");
    std::exit(2);
}

Options read(int argc, char** argv)
{
    Options options;
    for (int i = 1; i < argc; ++i) {
        const std::string name = argv[i];
        if (name == "--list") {
            options.list = true;
            continue;
        }
        if (name == "--whole") {
            options.whole = true;
            continue;
        }
        if (i + 1 >= argc)
            usage();
        const std::string value = argv[++i];
        if (name == "--only")
            options.only.push_back(value);
        else if (name == "--phase")
            options.phases.push_back(value);
        else if (name == "--line" && (value == "tcp" || value == "tty" || value == "both"))
            options.line = value;
        else if (name == "--traces")
            options.traces = value;
        else if (name == "--jobs")
            options.jobs = std::max(1, std::atoi(value.c_str()));
        else if (name == "--plate-speed")
            options.plateSpeed = std::atof(value.c_str());
        else if (name == "--line-speed")
            options.lineSpeed = std::atof(value.c_str());
        else
            usage();
    }
    for (const std::string& phase : options.phases)
        if (std::find(phaseNames.begin(), phaseNames.end(), phase) == phaseNames.end())
            usage();
    for (const std::string& only : options.only)
        if (std::none_of(allRows().begin(), allRows().end(),
                         [&](const Row& row) { return only == row.name; })) {
            std::fprintf(stderr, "\"%s\" is no row; --list names them\n", only.c_str());
            std::exit(2);
        }
    return options;
}

bool lineMatters(const Row& row)
{
    return row.kind == Kind::Line || row.act == Act::KillWorker || row.act == Act::StopWorker ||
           row.act == Act::OperatorStop || std::string(row.name) == "sensor-open" ||
           std::string(row.name) == "relay-welded";
}

double speedOf(const Options& options, const Row& row, Phase phase, Line line)
{
    const bool slowly = row.act == Act::WindowGone || row.act == Act::WindowSilent;
    if (slowly && (phase == Phase::Preheat || phase == Phase::Soak))
        return 1; // the phase must last for half a minute
    if (std::string(row.name).starts_with("bit-errors"))
        return 1; // a lost answer takes a cycle's time, not four
    if (row.kind == Kind::Plate && line == Line::Tty && row.boundS < 1)
        return 1; // two readings over a wire take longer than that in plant time
    if (row.kind == Kind::Plate)
        return line == Line::Tcp ? options.plateSpeed : std::min(options.plateSpeed, 8.0);
    return options.lineSpeed;
}

std::vector<Setting> settingsOf(const Options& options)
{
    std::vector<Setting> all;
    for (const Line line : {Line::Tcp, Line::Tty})
        for (const Row& row : allRows())
            for (size_t phase = 0; phase < phaseNames.size(); ++phase) {
                const auto named = [](const std::vector<std::string>& names, const char* name) {
                    return names.empty() || std::find(names.begin(), names.end(), name) != names.end();
                };
                const bool thisLine =
                    options.line == "both" || (options.line == "tcp") == (line == Line::Tcp);
                if (!thisLine || !named(options.only, row.name) || !named(options.phases, phaseNames[phase]))
                    continue;
                const bool serialOnly = std::string(row.note) == "serial line only";
                if (row.answers[phase] == Answer::None || (serialOnly && line == Line::Tcp) ||
                    (line == Line::Tty && !options.whole && !lineMatters(row)))
                    continue;
                all.push_back({&row, static_cast<Phase>(phase), line,
                               speedOf(options, row, static_cast<Phase>(phase), line), options.traces});
            }
    return all;
}

// A case in a process of its own: whatever becomes of it, the table goes on.
struct Case {
    Setting setting;
    pid_t pid = 0;
    int result = -1;
    double startedS = 0, tookS = 0;
    std::string text;
    std::optional<Verdict> verdict;
};

volatile std::sig_atomic_t interrupted = 0;

void endFamilyOf(pid_t pid)
{
    for (int round = 0; round < 2; ++round) // a second time for those that were born meanwhile
        for (const pid_t one : descendantsOf(pid))
            kill(one, SIGKILL);
    kill(pid, SIGKILL);
}

std::string cell(const std::optional<double>& value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.9g", value.value_or(NAN));
    return text;
}

std::string written(const Verdict& verdict)
{
    std::string response = verdict.response;
    std::replace(response.begin(), response.end(), '\n', ' ');
    return std::to_string(static_cast<int>(verdict.is)) + "\t" + cell(verdict.frameS) + "\t" +
           cell(verdict.heatOffS) + "\t" + cell(verdict.jointRiseK) + "\t" + cell(verdict.lensRiseK) + "\t" +
           response + "\t" + verdict.why + "\n";
}

Verdict readBack(const std::string& text)
{
    std::vector<std::string> cells;
    for (size_t start = 0, end; start <= text.size(); start = end + 1) {
        end = std::min(text.find_first_of("\t\n", start), text.size());
        cells.push_back(text.substr(start, end - start));
    }
    if (cells.size() < 7)
        return {Verdict::Is::Red, "", {}, {}, {}, {}, "the case did not end by itself"};
    const auto number = [&](size_t at) {
        const double value = std::atof(cells[at].c_str());
        return std::isfinite(value) ? std::optional(value) : std::nullopt;
    };
    return {static_cast<Verdict::Is>(std::atoi(cells[0].c_str())),
            cells[5],
            number(1),
            number(2),
            number(3),
            number(4),
            cells[6]};
}

void start(Case& one, const HeatPlan& plan, const std::string& planText)
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
        std::exit(1);
    std::fflush(nullptr);
    one.startedS = nowS();
    one.pid = fork();
    if (one.pid == 0) {
        for (const int signal : {SIGINT, SIGTERM, SIGHUP})
            std::signal(signal, SIG_IGN); // the table ends its cases itself
        Verdict verdict;
        try {
            verdict = one.setting.row->act == Act::NotInjected
                          ? Verdict{Verdict::Is::Caution, one.setting.row->note}
                          : tryOut(one.setting, plan, planText);
        } catch (const std::exception& error) {
            verdict.why = error.what();
        }
        const std::string text = written(verdict);
        (void)!::write(ends[1], text.data(), text.size());
        _exit(0);
    }
    close(ends[1]);
    one.result = ends[0];
}

bool isOver(Case& one)
{
    if (interrupted || nowS() - one.startedS > longestCaseS)
        endFamilyOf(one.pid);
    pollfd wait{one.result, POLLIN, 0};
    if (poll(&wait, 1, 0) > 0) {
        char bytes[4096];
        const ssize_t count = ::read(one.result, bytes, sizeof bytes);
        if (count > 0)
            one.text.append(bytes, static_cast<size_t>(count));
    }
    if (waitpid(one.pid, nullptr, WNOHANG) != one.pid)
        return false;
    char bytes[4096];
    for (ssize_t count; (count = ::read(one.result, bytes, sizeof bytes)) > 0;)
        one.text.append(bytes, static_cast<size_t>(count));
    close(one.result);
    one.tookS = nowS() - one.startedS;
    one.verdict = readBack(one.text);
    return true;
}

void printHead()
{
    std::printf(
        "Times from the fault: s of the clock where the bound says w, of the plant where it says p. frame: "
        "heat-off\nasked for at the plate; off: its heater has no power any more. joint, lens: K they still "
        "rose (first target\njoint, nearest lens left on), in plant time. A bound has 0.3 s to spare for a "
        "cycle and a busy machine;\nunder heat that of a welded relay counts from when the heater gets more "
        "than "
        "strong mains would\ngive of what it is told, that of an open heater from when 3/10 of full power is "
        "asked "
        "for.\n\n");
    std::printf("%-24s %-4s %-8s %4s  %6s %6s %7s %6s %6s  %-8s %s\n", "fault", "line", "phase", "x", "frame",
                "off", "bound", "joint", "lens", "", "response");
}

void print(const Case& one)
{
    const Row& row = *one.setting.row;
    const Verdict& verdict = *one.verdict;
    const auto shown = [](const std::optional<double>& value, int digits) {
        char text[32] = "-";
        if (value)
            std::snprintf(text, sizeof text, "%.*f", digits, *value);
        return std::string(text);
    };
    static const char* const words[] = {"ok", "NOT OK", "n/a", "caution"};
    char bound[24] = "-";
    if (row.boundS > 0)
        std::snprintf(bound, sizeof bound, "%.1f %s", row.boundIn(one.setting.phase),
                      row.clock == Clock::Wall ? "w" : "p");
    std::printf("%-24s %-4s %-8s %4.0f  %6s %6s %7s %6s %6s  %-8s %s%s%s\n", row.name,
                one.setting.line == Line::Tcp ? "tcp" : "tty",
                phaseNames[static_cast<size_t>(one.setting.phase)], one.setting.speed,
                shown(verdict.frameS, 2).c_str(), shown(verdict.heatOffS, 2).c_str(), bound,
                shown(verdict.jointRiseK, 1).c_str(), shown(verdict.lensRiseK, 1).c_str(),
                words[static_cast<int>(verdict.is)], verdict.response.c_str(),
                verdict.why.empty()        ? ""
                : verdict.response.empty() ? "<- "
                                           : " <- ",
                verdict.why.c_str());
    std::fflush(stdout);
}

} // namespace

int main(int argc, char** argv)
{
    const Options options = read(argc, argv);
    std::vector<Case> cases;
    for (const Setting& setting : settingsOf(options))
        cases.push_back({setting});
    if (options.list) {
        for (const Case& one : cases)
            std::printf("%-24s %-4s %s\n", one.setting.row->name,
                        one.setting.line == Line::Tcp ? "tcp" : "tty",
                        phaseNames[static_cast<size_t>(one.setting.phase)]);
        std::printf("%zu cases\n", cases.size());
        return 0;
    }
    for (const int signal : {SIGINT, SIGTERM, SIGHUP})
        std::signal(signal, [](int) { interrupted = 1; });
    const double startedS = nowS();
    const HeatPlan plan = shortPlan();
    const std::string planText = toJson(plan).dump();
    printHead();
    size_t next = 0, printed = 0;
    std::vector<size_t> running;
    int red = 0, cautions = 0;
    while (printed < cases.size()) {
        if (interrupted && running.empty())
            return 130;
        while (!interrupted && next < cases.size() && static_cast<int>(running.size()) < options.jobs) {
            start(cases[next], plan, planText);
            running.push_back(next++);
        }
        std::erase_if(running, [&](size_t at) { return isOver(cases[at]); });
        for (; printed < cases.size() && cases[printed].verdict; ++printed) {
            print(cases[printed]);
            red += cases[printed].verdict->is == Verdict::Is::Red;
            cautions += cases[printed].verdict->is == Verdict::Is::Caution;
        }
        usleep(10'000);
    }
    std::printf("\n%zu cases, %d red, %d that software cannot detect, %.0f s\n", cases.size(), red, cautions,
                nowS() - startedS);
    return red == 0 ? 0 : 1;
}
