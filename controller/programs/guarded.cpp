#include "programs/guarded.h"

#include "guardian/guardian.h"
#include "guardian/plate_lock.h"
#include "materials/json_fields.h"
#include "runlog/run_log.h"

#include <cstdio>

namespace stripwright {

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

static int workWithExitCode(const GuardedWork& work, int heartbeat)
{
    std::signal(SIGPIPE, SIG_IGN);
    for (int signal : {SIGINT, SIGTERM, SIGHUP})
        std::signal(signal, onSignal);
    int exitCode = 1;
    bool mayHeat = false;
    try {
        exitCode = work(heartbeat, stopSignal, mayHeat);
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

int guarded(const PlateLink& link, const GuardedWork& work)
{
    try {
        const PlateLock lock(link);
        const Fork fork = forkUnderGuardian();
        if (fork.child == 0)
            return workWithExitCode(work, fork.heartbeat);
        return guard(fork, [&] { return openToTurnOff(link); });
    } catch (const std::exception& error) {
        return complain(1, error);
    }
}

std::optional<PlateLink> readLinkOrComplain(const std::string& file, std::string* text)
{
    try {
        const std::string read = readTextFile(file);
        if (text)
            *text = read;
        return readPlateLink(read, file);
    } catch (const BadInput& error) {
        std::fprintf(stderr, "%s\n", error.what());
        return {};
    }
}

} // namespace stripwright
