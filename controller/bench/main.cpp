#include "bench/plate_clock.h"
#include "bench/plate_server.h"
#include "materials/json_fields.h"

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

enum ExitCode { Ok = 0, Failed = 1, Usage = 2, BadFile = 3, CannotWrite = 8 };

struct Options {
    int tcpPort = -1;
    std::string sheetFile, shelfFolder = SHELF_DIR, linkFile, drive = "duty", truth;
    std::vector<std::string> faults;
    double speed = 1;
    bool exitWithParent = false;
};

double numberIn(const std::string& text, const std::string& option, double min, double max)
{
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (text.empty() || *end || !(value >= min && value <= max))
        throw CLI::ValidationError(option, "\"" + text + "\" is no number from " + std::to_string(min) +
                                               " to " + std::to_string(max));
    return value;
}

TimedFault faultOf(const std::string& text)
{
    const size_t at = text.find('@');
    const std::string name = text.substr(0, at);
    const auto& names = faultNames();
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end())
        throw CLI::ValidationError("--fault", "\"" + name + "\" is no fault, expected " + oneOf(names));
    return {static_cast<Fault>(found - names.begin()),
            at == std::string::npos ? 0 : numberIn(text.substr(at + 1), "--fault", 0, 1e6)};
}

TruthFactors truthOf(const std::string& text)
{
    TruthFactors truth = SimulatedPlateOptions{}.truth;
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

// SIGTERM and SIGINT as something that can be waited for.
int stopSignals()
{
    sigset_t signals;
    sigemptyset(&signals);
    sigaddset(&signals, SIGTERM);
    sigaddset(&signals, SIGINT);
    sigprocmask(SIG_BLOCK, &signals, nullptr);
    return signalfd(-1, &signals, SFD_NONBLOCK | SFD_CLOEXEC);
}

std::string footer()
{
    std::string text =
        "A heated plate with the strip of a bench sheet on it, as a Modbus TCP device on 127.0.0.1, unit 1.\n"
        "Its truth differs from the planner's model: contact 0.85, losses 1.10 and power 0.95 of the\n"
        "sheet's values unless --truth says otherwise. Temperature sensor: dead time and lag of the plate\n"
        "type, 0.05 K noise, 0.1 K steps. Its watchdog cuts the heater after 3 s of plant time without an\n"
        "answered request while heat is commanded, until duty 0 (or set-point 0) is written.\n\nFaults:";
    for (const std::string& name : faultNames())
        text += " " + name;
    text += "\n\nRegisters with --drive duty (0-based):\n" + registerMapText(DriveKind::Duty);
    text += "\nRegisters with --drive setpoint:\n" + registerMapText(DriveKind::Setpoint);
    return text;
}

int serve(const Options& options, SimulatedPlateOptions plateOptions)
{
    const int stop = stopSignals();
    if (!options.linkFile.empty()) {
        // A file of an earlier plate would send clients to a port that is no longer there.
        std::error_code ignored;
        std::filesystem::remove(options.linkFile, ignored);
    }
    SimulatedPlate plate(sheetIn(options), plateOptions);
    PlateServer server(plate, options.tcpPort);
    if (!options.linkFile.empty() &&
        !writeWhole(options.linkFile, toJsonText(linkTo(plate, server.port())))) {
        std::cerr << options.linkFile << ": cannot be written; check the folder and its free space\n";
        return CannotWrite;
    }
    std::cout << server.port() << std::endl;

    PlateClock clock(options.speed);
    bool lateTold = false;
    while (!server.serve(clock.waitMs(plate.timeS()), stop)) {
        // One step at a time, so that requests that have arrived are answered between steps however far
        // behind we are.
        if (clock.isDue(plate.timeS()))
            plate.advance(SimulatedPlate::stepS);
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

} // namespace

int main(int argc, char** argv)
{
    Options options;
    CLI::App app("The simulated plate");
    app.footer(footer());
    app.add_option("--tcp", options.tcpPort, "Port to listen on; 0: any free one, printed on standard output")
        ->required()
        ->check(CLI::Range(0, 65535));
    app.add_option("--sheet", options.sheetFile, "Bench sheet or heat plan: what lies on the plate")
        ->required();
    app.add_option("--shelf", options.shelfFolder, "Shelf folder that the bench sheet's ids are looked up in")
        ->capture_default_str();
    app.add_option("--speed", options.speed,
                   "Plant seconds in a real second; the plate's watchdog scales along")
        ->check(CLI::Range(0.01, 1000.0))
        ->capture_default_str();
    app.add_option("--fault", options.faults,
                   "NAME[@SECONDS]: a fault from this plant second on; may be repeated");
    app.add_option("--drive", options.drive, "What is written: duty, or setpoint to the plate's own loop")
        ->check(CLI::IsMember({"duty", "setpoint"}))
        ->capture_default_str();
    app.add_option("--truth", options.truth,
                   "contact=0.85,losses=1.10,power=0.95: factors on the sheet's values");
    app.add_option("--link-out", options.linkFile,
                   "Writes the plate link file of this plate once it listens");
    app.add_flag("--exit-with-parent", options.exitWithParent, "Ends when the process that started it ends");

    SimulatedPlateOptions plateOptions;
    try {
        const pid_t parent = getppid();
        app.parse(argc, argv);
        plateOptions.drive = options.drive == "duty" ? DriveKind::Duty : DriveKind::Setpoint;
        plateOptions.truth = truthOf(options.truth);
        for (const std::string& text : options.faults)
            plateOptions.faults.push_back(faultOf(text));
        if (options.exitWithParent) {
            prctl(PR_SET_PDEATHSIG, SIGTERM);
            if (getppid() != parent)
                return Ok;
        }
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? Ok : Usage;
    }
    try {
        return serve(options, plateOptions);
    } catch (const BadInput& bad) {
        for (const Problem& problem : bad.problems())
            std::cerr << problem.text() << "\n";
        return BadFile;
    } catch (const std::system_error& error) {
        std::cerr << "cannot listen on 127.0.0.1 port " << options.tcpPort << ": " << error.code().message()
                  << ". Take another port, or 0 for any free one\n";
        return Failed;
    } catch (const std::exception& error) {
        std::cerr << "stripwright-plate: " << error.what() << "\n";
        return Failed;
    }
}
