#include "programs/programs.h"

#include "guardian/guardian.h"
#include "loop/run_desk.h"
#include "programs/control_period.h"
#include "programs/guarded.h"

#include <cstdio>
#include <sys/mman.h>

namespace stripwright {

/// Everything is made here, in the order that lets nothing heat before it can be recorded and watched.
static int control(const DriveOptions& options, const PlateLink& link, const std::string& linkText,
                   int heartbeat, const std::atomic<int>& stopSignal, bool& mayHeat)
{
    std::vector<std::string> channelNames;
    for (const ExtraChannel& channel : link.channels)
        channelNames.push_back(channel.name);

    Rings rings;
    LogThread log(std::make_unique<RunWriter>(options.runs), rings, channelNames);
    const double periodS = controlPeriodS(link, options.speed);
    const std::unique_ptr<Plate> plate = openPlate(link);
    MessageServer server(options.socket);
    std::error_code none;
    const auto whole = [&](const std::string& file) {
        return std::filesystem::absolute(file, none).string();
    };
    const auto running =
        makeMark({.socket = whole(options.socket), .runsFile = whole(options.runs)}, link, options.plate);
    LoopSettings loop;
    loop.drive = link.drive;
    loop.setpointFloorC = link.setpointFloorC;
    loop.periodS = periodS;
    loop.plantSPerWallS = options.speed;
    loop.simulatedStrip = link.stripLifted.has_value();
    loop.identified = link.identified;
    loop.tellsDuty = link.duty.has_value();
    loop.watchdogProvenS = link.watchdogProvenS;
    loop.watchdogUnproven = !link.simulated && !(link.watchdogProvenS > 0);
    int exitCode = 1;
    mayHeat = true;
    {
        ControlThread thread(*plate, rings,
                             {.periodS = periodS,
                              .plantSPerWallS = options.speed,
                              .heartbeat = heartbeat,
                              .stopSignal = &stopSignal});
        // A page that must come from disk makes a cycle late; refused without the right.
        mlockall(MCL_CURRENT);
        RunDesk desk(server, thread, log, rings, {loop, linkText, channelNames});
        std::puts("ready");
        std::fflush(stdout);
        exitCode = desk.serve(stopSignal);
    }
    if (exitCode != 1)
        sayHeaterOff(heartbeat); // what is left is the log's end, on a disk that may be slow
    return exitCode;
}

int drive(const DriveOptions& options)
{
    std::string linkText;
    const std::optional<PlateLink> link = readLinkOrComplain(options.plate, &linkText);
    if (!link)
        return 3;
    if (speedRefused(options.speed, *link, options.plate))
        return 2;
    return guarded(*link, options.plate, Attended::ByItsClients,
                   [&](int heartbeat, const std::atomic<int>& stop, bool& mayHeat) {
                       return control(options, *link, linkText, heartbeat, stop, mayHeat);
                   });
}

} // namespace stripwright
