#include "bench/live_faults.h"
#include "bench/plate_clock.h"
#include "bench/plate_trace.h"
#include "bench/rtu_server.h"
#include "bench/tcp_server.h"
#include "materials/json_fields.h"
#include "materials/output_file.h"
#include "messages/usage_words.h"

#include <CLI/CLI.hpp>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sys/prctl.h>
#include <sys/signalfd.h>
#include <unistd.h>

using namespace stripwright;

namespace {

enum ExitCode { Ok = 0, Failed = 1, Usage = 2, BadFile = 3, NotWritten = 8 };

struct Options {
    int tcpPort = -1;
    std::string tty, frame = "8E1";
    int baud = 19200;
    double turnaroundMs = 0;
    std::string sheetFile, shelfFolder = SHELF_DIR, linkFile, drive = "duty", map, plantFile, truth;
    std::vector<std::string> faults;
    double speed = 1;
    std::string traceFile;
    bool bare = false, withoutTruth = false, withoutWatchdog = false, tellsNoDuty = false, rampStays = false,
         exitWithParent = false;
};

const std::vector<std::string> frameNames = {"8N1", "8E1", "8O1", "8N2"}; // in the order of SerialFrame

double numberIn(const std::string& text, const std::string& option, double min, double max)
{
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (text.empty() || *end || !(value >= min && value <= max))
        throw CLI::ValidationError(option, "\"" + text + "\" is no number from " + std::to_string(min) +
                                               " to " + std::to_string(max));
    return value;
}

TruthFactors truthOf(const std::string& text, TruthFactors truth)
{
    std::istringstream parts(text);
    for (std::string part; std::getline(parts, part, ',');) {
        const size_t equals = part.find('=');
        const std::string name = part.substr(0, equals);
        double* factor = name == "contact"  ? &truth.contact
                         : name == "losses" ? &truth.losses
                         : name == "power"  ? &truth.power
                                            : nullptr;
        if (!factor || equals == std::string::npos)
            throw CLI::ValidationError("--truth",
                                       "\"" + part + "\", expected contact=, losses= or power= and a number");
        *factor = numberIn(part.substr(equals + 1), "--truth", 0.1, 10);
    }
    return truth;
}

// A bench sheet, or the sheet inside a heat plan, which names no shelf entry by id.
BenchSheet sheetIn(const Options& options)
{
    const std::string text = readTextFile(options.sheetFile);
    std::vector<Problem> problems;
    const auto document = parseDocument(text, options.sheetFile, "", 0, problems);
    if (!document)
        throw BadInput(problems);
    if (document->is_object() && document->contains("sheet"))
        return readBenchSheet((*document)["sheet"], options.sheetFile, "/sheet", Shelf{});
    const std::filesystem::path folders[] = {options.shelfFolder};
    return readBenchSheet(text, options.sheetFile, readShelf(folders));
}

bool writeWhole(const std::string& file, const std::string& text)
{
    const std::string part = file + ".part";
    std::ofstream out(part, std::ios::trunc);
    out << text;
    out.close();
    std::error_code error;
    if (out)
        std::filesystem::rename(part, file, error);
    if (!out || error) {
        std::filesystem::remove(part, error);
        return false;
    }
    return true;
}

constexpr int parentDied = SIGUSR1; // a number of its own: who the parent is may be asked too early

// As something that can be waited for.
int stopSignals()
{
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGTERM);
    sigaddset(&signals, SIGINT);
    sigaddset(&signals, parentDied);
    sigprocmask(SIG_BLOCK, &signals, nullptr);
    return signalfd(-1, &signals, SFD_NONBLOCK | SFD_CLOEXEC);
}

std::string footer()
{
    std::string text =
        "A heated plate with the strip of a bench sheet on it, as a Modbus device: over TCP on 127.0.0.1, or "
        "over\n"
        "RTU on a serial port, or on a pseudo-terminal that takes as long as a wire would. Its truth differs "
        "from\n"
        "the planner's model: contact 0.85, losses 1.10 and power 0.95 of the sheet's values unless --plant "
        "or\n"
        "--truth says otherwise. Its watchdog cuts the heater after 3 s of plant time without an answered "
        "request\n"
        "while heat is commanded, until duty 0 (or set-point 0) is written. The link file of --link-out says "
        "what "
        "a\n"
        "plant file changes in what a client must know: how often readings come, a relay's least time, and "
        "that "
        "a\n"
        "ramp of the plate's own is to be switched off.\n\n" +
        faultsText() + "\nPlant file:\n" + plantFileText() + "\nMaps, with addresses from 0:\n";
    for (const std::string& name : plateMapNames())
        text += "\n" + plateMapText(name);
    return text;
}

std::unique_ptr<PlateServer> listen(const Options& options, RegisterDevice& device)
{
    if (options.tty.empty())
        return std::make_unique<TcpServer>(device, options.tcpPort);
    const auto frame = std::find(frameNames.begin(), frameNames.end(), options.frame) - frameNames.begin();
    return std::make_unique<RtuServer>(
        device, options.tty,
        RtuServer::Settings{options.baud, static_cast<SerialFrame>(frame), options.turnaroundMs / 1000});
}

bool hasLiveFaults(const Options& options)
{
    return std::find(options.faults.begin(), options.faults.end(), "-") != options.faults.end();
}

// A client must be able to read its heater back off even where the process that started both has died: the
// plate then stays until nobody has spoken to it for a while, such as a guardian that comes next.
class Farewell {
public:
    explicit Farewell(int signals) : signals_(signals) {}
    bool over(bool signalled, const PlateServer& server)
    {
        const double nowS = lineClockS();
        signalfd_siginfo info;
        while (signalled && read(signals_, &info, sizeof info) == static_cast<ssize_t>(sizeof info)) {
            if (info.ssi_signo != parentDied)
                return true;
            orphaned_ = true;
            orphanedS_ = aloneSinceS_ = nowS;
        }
        if (!orphaned_)
            return false;
        if (server.hasClients())
            aloneSinceS_ = nowS;
        return nowS - aloneSinceS_ > aloneS || nowS - orphanedS_ > mostS;
    }

private:
    static constexpr double aloneS = 1, mostS = 30;
    int signals_;
    bool orphaned_ = false;
    double orphanedS_ = 0, aloneSinceS_ = 0;
};

int serve(const Options& options, const PlateMap& map, const SimulatedPlateOptions& plateOptions)
{
    const int stop = stopSignals();
    if (!options.linkFile.empty()) {
        // A file of an earlier plate would send clients to a port that is no longer there.
        std::error_code ignored;
        std::filesystem::remove(options.linkFile, ignored);
    }
    const BenchSheet sheet = sheetIn(options);
    SimulatedPlate plate(sheet, plateOptions);
    RegisterDevice device(plate, map);
    std::optional<PlateTrace> trace;
    if (!options.traceFile.empty())
        trace.emplace(options.traceFile, plate, device, sheet);
    LiveFaults live(hasLiveFaults(options) ? STDIN_FILENO : -1);
    const std::unique_ptr<PlateServer> server = listen(options, device);
    if (!options.linkFile.empty() && !writeWhole(options.linkFile, toJsonText(linkTo(device, *server)))) {
        std::cerr << options.linkFile << ": cannot be written; check the folder and its free space\n";
        return NotWritten;
    }
    std::cout << server->place() << std::endl;

    PlateClock clock(options.speed);
    Farewell farewell(stop);
    bool lateTold = false;
    for (;;) {
        const bool signalled = server->serve(clock.waitMs(plate.timeS()), stop);
        if (farewell.over(signalled, *server))
            break;
        live.take(plate);
        // One step at a time, so that requests that have arrived are answered between steps however far
        // behind we are.
        if (clock.isDue(plate.timeS()))
            plate.advance(SimulatedPlate::stepS);
        if (trace)
            trace->follow();
        if (clock.dropBacklog(plate.timeS()) && !lateTold) {
            std::cerr
                << "the plant fell behind and goes on from where it is: this computer is too slow or was "
                   "stopped for --speed "
                << options.speed << "\n";
            lateTold = true;
        }
    }
    return Ok;
}

// What of the options is checked before anything is read; throws CLI::ParseError.
SimulatedPlateOptions plateOptionsOf(const Options& options, std::optional<PlateMap>& map)
{
    map = plateMap(options.map.empty() ? plateMapNames().front() : options.map,
                   options.drive == "duty" ? DriveKind::Duty : DriveKind::Setpoint);
    if (!map)
        throw CLI::ValidationError("--drive",
                                   "the map " + options.map + " has no set-point, only --drive duty");
    if (options.withoutWatchdog)
        map = withoutWatchdog(*map);
    if (options.tellsNoDuty && map->link.drive == DriveKind::Duty)
        throw CLI::ValidationError(
            "--tells-no-duty",
            "what a plate is told by --drive duty can be read back; give --drive setpoint");
    if (options.tellsNoDuty)
        map = withoutDuty(*map);
    if (options.rampStays && !map->link.enable)
        throw CLI::ValidationError("--ramp-stays", "the map " + map->name +
                                                       " has no enable output, without which nothing ends "
                                                       "the heat of such a plate at once");
    if (options.rampStays)
        map = withoutOwnRamp(*map);
    SimulatedPlateOptions plateOptions;
    fitTo(plateOptions, *map);
    plateOptions.bare = options.bare;
    plateOptions.tellsTruth = !options.withoutTruth;
    truthOf(options.truth, {});
    try {
        for (const std::string& text : options.faults)
            if (text != "-")
                plateOptions.faults.push_back(readFault(text));
    } catch (const std::invalid_argument& wrong) {
        throw CLI::ValidationError("--fault", wrong.what());
    }
    return plateOptions;
}

void addLineOptions(CLI::App& app, Options& options)
{
    CLI::Option_group* line = app.add_option_group("Line", "One of");
    line->add_option("--tcp", options.tcpPort,
                     "Port to listen on; 0: any free one, printed on standard output")
        ->check(CLI::Range(0, 65535));
    line->add_option(
        "--rtu", options.tty,
        "Serial port, or a path that is not there yet: a link to a pseudo-terminal is made there");
    line->require_option(1);
    app.add_option("--baud", options.baud, "Of --rtu")
        ->check(CLI::IsMember(serialEndBauds()))
        ->capture_default_str();
    app.add_option("--frame", options.frame,
                   "Of --rtu: 8N1, 8E1, 8O1 or 8N2; a pseudo-terminal knows no parity and takes 8N2 instead")
        ->check(CLI::IsMember(frameNames))
        ->capture_default_str();
    app.add_option("--turnaround", options.turnaroundMs,
                   "Of --rtu: milliseconds before an answer; at least the silence that ends a frame")
        ->check(CLI::Range(0.0, 1000.0))
        ->capture_default_str();
}

void addPlateOptions(CLI::App& app, Options& options)
{
    app.add_option("--map", options.map, "Register map, one of those below; plain if not given")
        ->check(CLI::IsMember(plateMapNames()));
    app.add_option("--drive", options.drive, "What is written: duty, or setpoint to the plate's own loop")
        ->check(CLI::IsMember({"duty", "setpoint"}))
        ->capture_default_str();
    app.add_option("--sheet", options.sheetFile, "Bench sheet or heat plan: what lies on the plate")
        ->required();
    app.add_option("--shelf", options.shelfFolder, "Shelf folder that the bench sheet's ids are looked up in")
        ->default_str("the shelf that comes with the program");
    app.add_flag("--bare", options.bare, "Nothing lies on the plate");
    app.add_option("--plant", options.plantFile, "Plant file: how this plate differs from its sheet");
    app.add_option(
        "--truth", options.truth,
        "contact=0.85,losses=1.10,power=0.95: factors on the sheet's values, before those of --plant");
    app.add_flag("--without-truth", options.withoutTruth,
                 "No channels that tell true temperatures, as on a real plate");
    app.add_option("--speed", options.speed,
                   "Plant seconds in a real second; the plate's watchdog scales along")
        ->check(CLI::Range(0.01, 1000.0))
        ->capture_default_str();
    app.add_flag("--no-watchdog", options.withoutWatchdog,
                 "A plate without a watchdog: nobody but its client ends its heat");
    app.add_flag("--tells-no-duty", options.tellsNoDuty,
                 "With --drive setpoint: no register tells what the heater gets");
    app.add_flag("--ramp-stays", options.rampStays,
                 "No register switches off the ramp that --plant gives the own loop");
    app.add_option("--fault", options.faults, "A fault, as below; may be repeated");
    app.add_option("--trace", options.traceFile,
                   "CSV of what really happens: heat, temperatures, faults, each 0.1 s of the plant");
}

} // namespace

int main(int argc, char** argv)
{
    Options options;
    CLI::App app("The simulated plate");
    app.footer(footer());
    addLineOptions(app, options);
    addPlateOptions(app, options);
    app.add_option("--link-out", options.linkFile,
                   "Writes the plate link file of this plate once it listens");
    app.add_flag("--exit-with-parent", options.exitWithParent, "Ends when the process that started it ends");

    SimulatedPlateOptions plateOptions;
    std::optional<PlateMap> map;
    app.failure_message([](const CLI::App*, const CLI::Error& error) {
        return usageWords(error.what(), "stripwright-plate");
    });
    try {
        const pid_t parent = getppid();
        app.parse(argc, argv);
        plateOptions = plateOptionsOf(options, map);
        if (options.exitWithParent) {
            prctl(PR_SET_PDEATHSIG, parentDied);
            if (getppid() != parent)
                return Ok;
        }
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? Ok : Usage;
    }
    try {
        if (!options.linkFile.empty())
            checkOutput(options.linkFile, OutputKind::PlateLink, {options.sheetFile, options.plantFile});
        if (!options.plantFile.empty())
            static_cast<Plant&>(plateOptions) = readPlant(readTextFile(options.plantFile), options.plantFile);
        plateOptions.truth = truthOf(options.truth, plateOptions.truth);
        if (plateOptions.watchdogBit == WatchdogBit::None)
            map = withoutWatchdogBit(*map);
        return serve(options, *map, plateOptions);
    } catch (const BadInput& bad) {
        for (const Problem& problem : bad.problems())
            std::cerr << problem.text() << "\n";
        return BadFile;
    } catch (const CannotWrite& bad) {
        std::cerr << bad.what() << "\n";
        return NotWritten;
    } catch (const std::system_error& error) {
        std::cerr << "cannot listen on 127.0.0.1 port " << options.tcpPort << ": " << error.code().message()
                  << ". Take another port, or 0 for any free one\n";
        return Failed;
    } catch (const std::exception& error) {
        std::cerr << "stripwright-plate: " << error.what() << "\n";
        return Failed;
    }
}
