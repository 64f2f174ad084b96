#include "programs/guarded.h"

#include "guardian/front.h"
#include "guardian/plate_lock.h"
#include "materials/json_fields.h"
#include "messages/patient_output.h"
#include "runlog/run_log.h"

#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <ctime>
#include <fcntl.h>
#include <filesystem>
#include <future>
#include <unistd.h>

namespace stripwright {

static std::atomic<int> stopSignal = 0; // one that a signal handler may set, and other threads read
static_assert(std::atomic<int>::is_always_lock_free);
static std::atomic<bool> lostGuardian = false;

static void onSignal(int)
{
    stopSignal = 1;
}

void beat(int heartbeat)
{
    if (write(heartbeat, "b", 1) < 0 && errno == EPIPE) {
        lostGuardian = true;
        stopSignal = 1;
    }
}

bool guardianLost()
{
    return lostGuardian;
}

static int complain(int exitCode, const char* what)
{
    std::fprintf(stderr, "stripwright-controller: %s\n", what);
    return exitCode;
}

// Without it nothing is shown, but nothing is held up.
static std::unique_ptr<PatientOutput> patiently(int descriptor)
{
    try {
        return std::make_unique<PatientOutput>(descriptor);
    } catch (const std::exception&) {
        dup2(open("/dev/null", O_WRONLY | O_CLOEXEC), descriptor);
        return nullptr;
    }
}

namespace {

struct Ended {
    int exitCode = 1;
    bool orderly = false; ///< Heater off, or never touched.
};

} // namespace

static Ended ending(const GuardedWork& work, int heartbeat)
{
    bool mayHeat = false;
    const auto failed = [&](int exitCode, const char* why) {
        return Ended{complain(exitCode, why), !mayHeat};
    };
    try {
        const int exitCode = work(heartbeat, stopSignal, mayHeat);
        if (exitCode == 1)
            return {complain(1, "heater off was sent and not confirmed"), false};
        return {exitCode, true};
    } catch (const RunLogError& error) {
        return failed(8, error.what());
    } catch (const LinkError& error) {
        return failed(5, error.what());
    } catch (const std::exception& error) {
        return failed(1, error.what());
    } catch (...) {
        return failed(1, "ended by something unknown");
    }
}

[[noreturn]] static void workAndExit(const GuardedWork& work, int heartbeat)
{
    auto output = patiently(STDOUT_FILENO), errors = patiently(STDERR_FILENO);
    Ended ended = ending(work, heartbeat);
    std::fflush(nullptr);
    if (ended.orderly) {
        sayOrderlyEnd(heartbeat);
        // Nothing heats any more: a slow reader may have some time, and a result that was not taken is none.
        if (output && !output->end(std::chrono::seconds(5)) && ended.exitCode == 0)
            ended.exitCode = complain(8, "standard output could not be written in whole: whoever reads it "
                                         "stands still or is gone; read it faster, or into a file");
        output.reset();
    } else {
        beat(heartbeat);
        ended.exitCode = guardianLost() ? 1 : ended.exitCode; // the front then has another one act
    }
    errors.reset();
    _exit(ended.exitCode);
}

// By its addresses as they were when the plate was locked: a name server may be gone when heat must end.
static OpenToTurnOff opening(const PlateLink& link, const std::vector<std::string>& addresses)
{
    return [link, addresses, next = size_t(0)]() mutable {
        PlateLink now = link;
        if (!addresses.empty())
            now.host = addresses[next++ % addresses.size()];
        return openToTurnOff(now);
    };
}

// Nothing that writes a file may hold up the guardian.
class MarkOfGuardian {
public:
    MarkOfGuardian(const PlateLink& link, const std::string& linkFile) : link_(link), linkFile_(linkFile) {}
    void goesOnAlone(bool alone) noexcept
    {
        try {
            if (alone)
                mark_ = std::async(std::launch::async,
                                   [this] { return makeMark({.work = turnsOffAlone}, link_, linkFile_); });
            else if (mark_.valid() && mark_.wait_for(std::chrono::seconds(5)) == std::future_status::ready)
                mark_.get().reset();
        } catch (const std::exception&) {
            // No thread to be had: it goes on unmarked.
        }
    }

private:
    const PlateLink& link_;
    const std::string& linkFile_;
    std::future<std::unique_ptr<RunningMark>> mark_;
};

[[noreturn]] static void guardAndExit(const PlateLock& lock, const PlateLink& link,
                                      const std::string& linkFile, Attended attended, const FrontLine& front,
                                      const GuardedWork* work)
{
    Fork fork;
    if (work)
        fork = forkUnderGuardian(onSignal);
    if (work && fork.child == 0) {
        close(front.orders);
        close(front.news);
        lock.holdInThisProcess();
        workAndExit(*work, fork.heartbeat);
    }
    dup2(open("/dev/null", O_WRONLY | O_CLOEXEC),
         STDOUT_FILENO); // whoever reads it waits for the worker only
    auto errors = patiently(STDERR_FILENO);
    const bool terminal = errors && errors->isTerminal();
    GuardianSettings settings;
    settings.longestFrontSilenceS = attended == Attended::AtTheTerminal ? 30 : 0;
    settings.goneAfterS = link.simulated ? 60 : 0;
    settings.say = [&](const std::string& text) {
        std::fprintf(stderr, "%s%s\n", terminal ? "\n" : "", text.c_str()); // a line may be half written
    };
    MarkOfGuardian mark(link, linkFile);
    settings.goesOnAlone = [&](bool alone) { mark.goesOnAlone(alone); };
    const OpenToTurnOff open = opening(link, lock.addresses());
    const auto takeOver = [&] {
        lock.holdInThisProcess();
        return open();
    };
    const auto keepGuard = [&] {
        try {
            return work ? guard(fork, front, takeOver, settings) : turnHeaterOff(front, takeOver, settings);
        } catch (...) { // such as no memory; the heater may be on
            if (fork.child > 0)
                kill(fork.child, SIGKILL);
        }
        for (;; usleep(100'000))
            try {
                return turnHeaterOff(front, takeOver, settings);
            } catch (...) {
            }
    };
    const int exitCode = keepGuard();
    errors.reset();
    _exit(exitCode);
}

int guarded(const PlateLink& link, const std::string& linkFile, Attended attended, const GuardedWork& work)
{
    try {
        const PlateLock lock(link);
        for (const GuardedWork* now = &work;; now = nullptr) {
            const Front front = forkBehindFront();
            if (front.guardian == 0)
                guardAndExit(lock, link, linkFile, attended, front.line, now);
            const FrontEnd end = standInFront(front);
            if (!end.unguarded)
                return end.exitCode;
            // Guardian and worker were both killed: another guardian turns the heater off.
        }
    } catch (const LinkError& error) {
        return complain(5, error.what());
    } catch (const std::exception& error) {
        return complain(1, error.what());
    }
}

std::unique_ptr<RunningMark> makeMark(RunningController controller, const PlateLink& link,
                                      const std::string& linkFile)
{
    const std::time_t now = std::time(nullptr);
    char startedUtc[32];
    std::strftime(startedUtc, sizeof startedUtc, "%Y-%m-%dT%H:%M:%SZ", std::gmtime(&now));
    controller.plate = link.name + " at " + placeOf(link);
    controller.startedUtc = startedUtc;
    controller.simulated = link.simulated;
    try {
        std::error_code none;
        controller.plateLink = std::filesystem::absolute(linkFile, none).string();
        return std::make_unique<RunningMark>(controller);
    } catch (const std::exception& error) {
        std::fprintf(stderr, "stripwright-controller: no command will find this process: %s\n", error.what());
        return nullptr;
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

std::string speedRefusal(double speed, const PlateLink& link, const std::string& file)
{
    if (speed == 1 || link.simulated)
        return {};
    char text[32];
    std::snprintf(text, sizeof text, "--speed %g: ", speed);
    return text + file +
           " does not say that its plate is simulated, and a real plate takes its own time; leave --speed "
           "out";
}

bool speedRefused(double speed, const PlateLink& link, const std::string& file)
{
    const std::string why = speedRefusal(speed, link, file);
    return !why.empty() && complain(2, why.c_str()) != 0;
}

} // namespace stripwright
