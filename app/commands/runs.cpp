#include "commands/commands.h"

#include "commands/run_texts.h"
#include "materials/output_file.h"
#include "messages/wire_names.h"
#include "models/run_history.h"
#include "rules/wording.h"
#include "runlog/run_log.h"
#include "runlog/salvage.h"

#include <algorithm>
#include <iostream>
#include <nlohmann/json.hpp>

namespace stripwright {

namespace {

constexpr double lookAtFileS = 300;

// Before anything is read: a run log takes long to make and must not be lost to a slip of the hand.
void checkIsNew(const std::string& out)
{
    std::error_code error;
    if (std::filesystem::symlink_status(out, error).type() != std::filesystem::file_type::not_found)
        throw CannotWrite(out + ": exists already; name a new file");
    checkCanWrite(out);
}

std::string endOf(const RunSummary& run)
{
    return run.outcome ? inWords(*run.outcome) : "not ended: being written, or its controller died";
}

struct ListedRun {
    RunSummary summary;
    RunTexts texts;
};

nlohmann::ordered_json jsonOf(const ListedRun& run)
{
    const RunSummary& summary = run.summary;
    const auto& plan = run.texts.plan;
    nlohmann::ordered_json sites;
    if (plan)
        sites = plan->sheet.targets();
    return {{"run", summary.key},
            {"title", summary.title},
            {"heat", plan ? nlohmann::ordered_json(plan->heat) : nullptr},
            {"of_heats", plan ? nlohmann::ordered_json(plan->ofHeats) : nullptr},
            {"kind", plan ? nlohmann::ordered_json(inWords(plan->sheet.heat)) : nullptr},
            {"sites", sites},
            {"started_utc", summary.startedUtc},
            {"outcome", summary.outcome ? nlohmann::ordered_json(wireName(*summary.outcome)) : nullptr},
            {"outcome_text", summary.outcomeText},
            {"samples", summary.samples},
            {"garbled", run.texts.garbled}};
}

// What could be read of a damaged file is no reason to fail: it is what the command is for.
void readWhatIsIn(const std::string& file, bool sound, std::vector<ListedRun>& runs,
                  std::vector<BenchEvent>& events)
{
    try {
        const RunReader reader(file);
        for (RunSummary& summary : reader.runs())
            runs.push_back({std::move(summary), {}});
        events = reader.benchEvents();
        for (ListedRun& run : runs)
            run.texts = textsOf(reader.read(run.summary.key));
    } catch (const RunLogError& failure) {
        if (sound)
            throw; // such as an empty file
        std::cerr << failure.what() << '\n';
    }
}

void printRun(const ListedRun& run)
{
    const RunSummary& summary = run.summary;
    std::string text = summary.title;
    if (run.texts.plan)
        text += ", " + heatOfJobText(*run.texts.plan).toStdString();
    std::cout << "  " << printable(summary.key) << "  " << summary.samples << " samples  " << endOf(summary)
              << "  " << printable(text) << '\n';
    if (!run.texts.garbled.empty())
        std::cout << "    garbled: " << printable(run.texts.garbled) << '\n';
}

} // namespace

int carryOut(const RunsCommand& command)
{
    for (const std::string& out : {command.copyTo, command.salvageTo})
        if (!out.empty())
            checkIsNew(out);
    std::error_code error;
    if (!std::filesystem::is_regular_file(command.file, error))
        throw RunLogError(command.file + (std::filesystem::is_directory(command.file, error)
                                              ? ": is a folder, expected a run log; name the file"
                                              : ": found no file, expected a run log"));
    const FileHealth health = healthOf(command.file, lookAtFileS);
    std::vector<ListedRun> runs;
    std::vector<BenchEvent> events;
    readWhatIsIn(command.file, health.sound, runs, events);

    Salvaged salvaged;
    try {
        if (!command.copyTo.empty() && health.sound)
            copyRunLog(command.file, command.copyTo);
        if (!command.salvageTo.empty())
            salvaged = salvage(command.file, command.salvageTo);
    } catch (const RunLogError& failure) {
        throw CannotWrite(failure.what());
    }

    if (!command.salvageTo.empty() && !health.sound && salvaged.nothing()) {
        std::filesystem::remove(command.salvageTo, error);
        throw RunLogError(command.file + ": nothing in it can be read (" + health.fault +
                          "), nothing was saved; look for a copy of this file");
    }

    const auto garbled =
        std::ranges::count_if(runs, [](const ListedRun& run) { return !run.texts.garbled.empty(); });
    const std::string garbledEvents = garbledIn(events);
    const std::string sound = !health.sound ? "damaged: " + health.fault
                              : garbled > 0 ? "garbled texts in " + std::to_string(garbled) + " of its runs"
                              : !garbledEvents.empty() ? "garbled texts in " + garbledEvents
                              : health.whole           ? "sound"
                                                       : "sound as far as it was looked through";
    const bool good = health.sound && garbled == 0 && garbledEvents.empty();
    if (command.json) {
        nlohmann::ordered_json answer{{"format", "stripwright-runs"},
                                      {"version", 1},
                                      {"file", command.file},
                                      {"sound", good},
                                      {"fault", health.sound && !good ? sound : health.fault},
                                      {"runs", nlohmann::ordered_json::array()},
                                      {"bench_events", events.size()}};
        for (const ListedRun& run : runs)
            answer["runs"].push_back(jsonOf(run));
        if (!command.copyTo.empty() && health.sound)
            answer["copied_to"] = command.copyTo;
        if (!command.salvageTo.empty())
            answer["salvaged"] = {{"to", command.salvageTo},
                                  {"runs", salvaged.runs},
                                  {"runs_found", salvaged.runsFound},
                                  {"samples", salvaged.samples},
                                  {"samples_found", salvaged.samplesFound}};
        std::cout << answer.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) << '\n';
    } else {
        std::cout << command.file << ": " << sound << ", " << runs.size()
                  << (runs.size() == 1 ? " run" : " runs") << ", " << events.size()
                  << " events between runs\n";
        for (const ListedRun& run : runs)
            printRun(run);
        if (!command.copyTo.empty() && health.sound)
            std::cout << "copied to " << command.copyTo << '\n';
        if (!command.salvageTo.empty())
            std::cout << salvaged.inWords() << " saved to " << command.salvageTo << '\n';
        else if (!health.sound)
            std::cout
                << "Save what can be read with --salvage-to NEWFILE; the damaged file stays as it is.\n";
        if (health.sound && !good)
            std::cout
                << "The file itself is whole, what stands in it has changed: look for an earlier copy of "
                   "it. A copy or salvage of this one would be garbled as well; samples are kept as "
                   "they are.\n";
    }
    if (!command.copyTo.empty() && !health.sound)
        std::cerr << command.file << ": is damaged, a copy would be as well; use --salvage-to\n";
    return good || (!health.sound && !command.salvageTo.empty()) ? exitOk : exitBadInput;
}

} // namespace stripwright
