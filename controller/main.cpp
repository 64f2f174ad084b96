#include "guardian/guardian.h"
#include "guardian/plate_lock.h"
#include "loop/run_desk.h"
#include "materials/json_fields.h"

#include <CLI/CLI.hpp>
#include <csignal>
#include <cstdio>
#include <sys/mman.h>

namespace stripwright {

struct Options {
    std::string plate, runs, socket;
    double speed = 1;
};

static volatile std::sig_atomic_t stopSignal = 0;

static void onSignal(int)
{
    stopSignal = 1;
}

static int complain(int exitCode, const std::exception& error)
{
    std::fprintf(stderr, "stripwright-controller: %s\n", error.what());
    return exitCode;
}

/// Everything is made here, in the order that lets nothing heat before it can be recorded and watched.
static int control(const Options& options, const PlateLink& link, const std::string& linkText, int heartbeat,
                   bool& mayHeat)
{
    std::vector<std::string> channelNames;
    for (const ExtraChannel& channel : link.channels)
        channelNames.push_back(channel.name);

    Rings rings;
    LogThread log(std::make_unique<RunWriter>(options.runs), rings, channelNames);
    const std::unique_ptr<Plate> plate = openPlate(link);
    MessageServer server(options.socket);
    mayHeat = true;
    ControlThread thread(*plate, rings, {.plantSPerWallS = options.speed, .heartbeat = heartbeat});
    mlockall(MCL_CURRENT); // a page that must come from disk makes a cycle late; refused without the right
    RunDesk desk(server, thread, log, rings,
                 {.loop = {.drive = link.drive,
                           .setpointFloorC = link.setpointFloorC,
                           .plantSPerWallS = options.speed,
                           .simulatedStrip = link.stripLifted.has_value()},
                  .plateLinkText = linkText,
                  .channelNames = channelNames});
    std::puts("ready");
    std::fflush(stdout);
    return desk.serve(stopSignal);
}

static int controlWithExitCode(const Options& options, const PlateLink& link, const std::string& linkText,
                               int heartbeat)
{
    std::signal(SIGPIPE, SIG_IGN);
    for (int signal : {SIGINT, SIGTERM, SIGHUP})
        std::signal(signal, onSignal);
    int exitCode = 1;
    bool mayHeat = false;
    try {
        exitCode = control(options, link, linkText, heartbeat, mayHeat);
        if (exitCode == 1) {
            std::fprintf(stderr, "stripwright-controller: heater off was sent and not confirmed\n");
            return exitCode;
        }
    } catch (const RunLogError& error) {
        exitCode = complain(8, error);
    } catch (const LinkError& error) {
        exitCode = complain(5, error);
    } catch (const std::exception& error) {
        exitCode = complain(1, error);
        if (mayHeat)
            return exitCode; // without an orderly end the guardian takes the line
    }
    sayOrderlyEnd(heartbeat);
    return exitCode;
}

static int run(const Options& options)
{
    std::string linkText;
    std::optional<PlateLink> link;
    try {
        linkText = readTextFile(options.plate);
        link = readPlateLink(linkText, options.plate);
    } catch (const BadInput& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 3;
    }
    try {
        const PlateLock lock(*link);
        const Fork fork = forkUnderGuardian();
        if (fork.child == 0)
            return controlWithExitCode(options, *link, linkText, fork.heartbeat);
        return guard(fork, [&] { return openToTurnOff(*link); });
    } catch (const std::exception& error) {
        return complain(1, error);
    }
}

} // namespace stripwright

int main(int argc, char** argv)
{
    stripwright::Options options;
    CLI::App app("Drives one plate along heat plans, records every run, and turns the heater off when "
                 "anything is wrong.",
                 "stripwright-controller");
    app.add_option("--plate", options.plate, "plate link file (.plate.json)")->required();
    app.add_option("--runs", options.runs, "run log, made if it is not there")->required();
    app.add_option("--socket", options.socket, "local socket that windows and terminals talk to")->required();
    app.add_option("--speed", options.speed, "plant seconds per second; above 1 only for a simulated plate")
        ->check(CLI::Range(1.0, 200.0));
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        const int code = app.exit(error);
        return code == 0 ? 0 : 2;
    }
    return stripwright::run(options);
}
