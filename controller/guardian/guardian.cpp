#include "guardian/guardian.h"

#include "guardian/front.h"
#include "guardian/signals.h"

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <poll.h>
#include <stdexcept>
#include <sys/signalfd.h>
#include <sys/wait.h>
#include <thread>
#include <unistd.h>

namespace stripwright {

using Clock = std::chrono::steady_clock;

static constexpr char orderlyEnd = 'E', heaterIsOff = 'O';

static double secondsSince(Clock::time_point then)
{
    return std::chrono::duration<double>(Clock::now() - then).count();
}

static int pollMs(double seconds)
{
    return static_cast<int>(seconds * 1000);
}

Fork forkUnderGuardian(void (*onStop)(int))
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC | O_NONBLOCK) != 0)
        throw std::runtime_error(std::string("no pipe to the guardian: ") + std::strerror(errno));
    // Blocked across the fork, so that no signal is lost before somebody listens for it.
    const sigset_t signals = endSignalSet();
    sigprocmask(SIG_BLOCK, &signals, nullptr);
    std::signal(SIGCHLD, SIG_DFL);
    ignoreIdleSignals();
    const pid_t child = fork();
    if (child < 0)
        throw std::runtime_error(std::string("the guardian cannot fork: ") + std::strerror(errno));
    if (child == 0) {
        close(ends[0]);
        for (int signal : endSignals)
            std::signal(signal, onStop);
        sigset_t none;
        sigemptyset(&none);
        sigprocmask(SIG_SETMASK, &none, nullptr);
        return {0, ends[1]};
    }
    close(ends[1]);
    return {child, ends[0]};
}

static void sayToGuardian(int heartbeat, char what)
{
    // A full pipe means a guardian that stands still; it will read the bytes once it goes on.
    for (int n = 0; n < 100 && write(heartbeat, &what, 1) < 0 && (errno == EAGAIN || errno == EINTR); ++n)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
}

void sayHeaterOff(int heartbeat)
{
    sayToGuardian(heartbeat, heaterIsOff);
}

void sayOrderlyEnd(int heartbeat)
{
    sayToGuardian(heartbeat, orderlyEnd);
}

namespace {

struct Asked {
    int signals = 0; ///< To this very process.
    bool stop = false, pause = false, frontGone = false;
};

/// What asks this process for something: signals, and the front.
class Requests {
public:
    explicit Requests(const FrontLine& front) : orders_(front.orders)
    {
        const sigset_t signals = endSignalSet();
        sigprocmask(SIG_BLOCK, &signals, nullptr);
        signals_ = signalfd(-1, &signals, SFD_CLOEXEC | SFD_NONBLOCK);
    }
    ~Requests() { close(signals_); }
    Requests(const Requests&) = delete;
    Requests& operator=(const Requests&) = delete;

    /// Waits at most so long for any of these, or for `heartbeat`.
    Asked wait(double seconds, int heartbeat = -1)
    {
        pollfd watched[3] = {{heartbeat, POLLIN, 0}, {signals_, POLLIN, 0}, {orders_, POLLIN, 0}};
        poll(watched, 3, pollMs(seconds));
        Asked asked;
        signalfd_siginfo info;
        while (read(signals_, &info, sizeof info) == static_cast<ssize_t>(sizeof info))
            ++asked.signals;
        char orders[256];
        ssize_t count = -1;
        while (orders_ >= 0 && (count = read(orders_, orders, sizeof orders)) > 0) {
            heard_ = Clock::now();
            const std::string_view all(orders, static_cast<size_t>(count));
            asked.stop = asked.stop || all.find(order::stop) != all.npos;
            asked.pause = asked.pause || all.find(order::pause) != all.npos;
        }
        if (orders_ >= 0 && count == 0) {
            asked.frontGone = true;
            orders_ = -1;
        }
        return asked;
    }
    double frontSilentS() const { return orders_ < 0 ? 0 : secondsSince(heard_); }
    void forgetSilence() { heard_ = Clock::now(); }

private:
    int orders_, signals_ = -1;
    Clock::time_point heard_ = Clock::now();
};

struct Heartbeats {
    bool any = false, off = false, orderly = false, closed = false;
    Clock::time_point last;

    void take(int fd)
    {
        char bytes[256];
        for (;;) {
            const ssize_t count = read(fd, bytes, sizeof bytes);
            if (count == 0)
                closed = true;
            if (count <= 0)
                return;
            any = true;
            last = Clock::now();
            off = bytes[count - 1] == heaterIsOff;
            orderly = orderly || std::memchr(bytes, orderlyEnd, static_cast<size_t>(count));
        }
    }
};

class Guardian {
public:
    Guardian(const FrontLine& front, const OpenToTurnOff& openPlate, const GuardianSettings& settings)
        : front_(front), openPlate_(openPlate), settings_(settings), requests_(front)
    {
    }

    int guard(const Fork& fork);
    bool turnHeaterOff(); ///< False: ended by signals before it was confirmed.

private:
    void passOn(pid_t child, const Asked& asked);
    bool tryOff();
    void say(const std::string& text)
    {
        if (settings_.say)
            settings_.say("guardian: " + text);
        else
            std::fprintf(stderr, "guardian: %s\n", text.c_str());
    }
    void sayOnce(const std::string& text)
    {
        if (text != lastSaid_)
            say(text);
        lastSaid_ = text;
    }

    const FrontLine front_;
    const OpenToTurnOff& openPlate_;
    const GuardianSettings& settings_;
    Requests requests_;
    std::unique_ptr<Plate> plate_;
    Clock::time_point reached_ = Clock::now();
    std::string lastSaid_;
};

void Guardian::passOn(pid_t child, const Asked& asked)
{
    const bool silent =
        settings_.longestFrontSilenceS > 0 && requests_.frontSilentS() > settings_.longestFrontSilenceS;
    if (asked.signals == 0 && !asked.stop && !asked.pause && !asked.frontGone && !silent)
        return;
    kill(child, SIGTERM);
    if (asked.pause)
        say("a heat cannot be paused; it is being stopped");
    if (asked.frontGone)
        say("the process in front of this one is gone; the heat is being stopped");
    if (silent) {
        requests_.forgetSilence();
        say("the process in front of this one stands still; the heat is being stopped");
    }
}

int Guardian::guard(const Fork& fork)
{
    tell(front_, News::Working, fork.child);
    Heartbeats heartbeats;
    for (;;) {
        // A pipe whose writer is gone is always ready: from then on only the end of the child is waited for.
        const Asked asked =
            requests_.wait(heartbeats.closed ? 0.01 : 0.1, heartbeats.closed ? -1 : fork.heartbeat);
        passOn(fork.child, asked);
        heartbeats.take(fork.heartbeat);

        int status = 0;
        const pid_t waited = waitpid(fork.child, &status, WNOHANG);
        const bool ended = waited == fork.child || (waited < 0 && errno == ECHILD);
        const double longestS = heartbeats.off ? settings_.longestEndS : settings_.longestStallS;
        const bool stalled =
            heartbeats.any && !heartbeats.orderly && secondsSince(heartbeats.last) > longestS;
        if (!ended && !stalled)
            continue;
        heartbeats.take(fork.heartbeat);
        if (ended && heartbeats.orderly && WIFEXITED(status))
            return WEXITSTATUS(status);
        const bool itself = ended && WIFEXITED(status);
        const int exitCode = itself && WEXITSTATUS(status) != 0 ? WEXITSTATUS(status) : 1;
        if (!ended) {
            kill(fork.child, SIGKILL);
            // One that waits for a device may not die for long: the heat cannot wait for it.
            for (const auto killed = Clock::now(); waitpid(fork.child, &status, WNOHANG) == 0 &&
                                                   secondsSince(killed) < settings_.longestDyingS;)
                std::this_thread::sleep_for(std::chrono::milliseconds(2));
        }
        bool off = tryOff();
        if (!ended)
            say("the controller stands still; it was killed and its line taken over");
        else if (itself)
            say("the controller has ended without heater off; its line is taken over");
        else
            say("the controller has died of signal " + std::to_string(WTERMSIG(status)));
        if (off)
            say("heater off, read back; what it has heated may be hot");
        else
            off = turnHeaterOff();
        return off ? exitCode : 1;
    }
}

bool Guardian::tryOff()
{
    try {
        if (!plate_)
            plate_ = openPlate_();
        reached_ = Clock::now();
        if (plate_->heaterOff())
            return true;
        lastSaid_ = "heater off sent, not confirmed: " + plate_->lastError();
    } catch (const std::exception& error) {
        lastSaid_ = std::string("the plate does not answer: ") + error.what();
    }
    plate_.reset();
    return false;
}

bool Guardian::turnHeaterOff()
{
    tell(front_, News::TurningOff, getpid());
    reached_ = Clock::now();
    const auto begun = Clock::now();
    const std::string me = std::to_string(getpid());
    const std::string ending = "process " + me +
                               " goes on sending heater off. If the plate's plug is pulled, kill -TERM " +
                               me + " twice ends it";
    double plugS = settings_.plugAfterS;
    int signals = 0;
    if (!lastSaid_.empty())
        say(lastSaid_);
    bool alone = false;
    for (std::string said = lastSaid_; !tryOff();) {
        if (!std::exchange(alone, true) && settings_.goesOnAlone)
            settings_.goesOnAlone(true);
        if (lastSaid_ != said)
            say(said = lastSaid_);
        if (secondsSince(begun) >= plugS) {
            plugS += settings_.plugEveryS;
            say("heater off is not confirmed. PULL THE MAINS PLUG OF THE PLATE. Process " + me +
                " goes on sending heater off");
        }
        if (settings_.goneAfterS > 0 && secondsSince(reached_) > settings_.goneAfterS) {
            say("the simulated plate has ended");
            return false;
        }
        const Asked asked = requests_.wait(settings_.retryEveryS);
        if (asked.stop || asked.pause) {
            say(ending);
            tell(front_, News::AloneFromNow, getpid());
        }
        signals += asked.signals;
        if (signals > 1) {
            say("ended by a signal; heater off was never confirmed. PULL THE MAINS PLUG OF THE PLATE.");
            return false;
        }
        if (asked.signals > 0)
            say("heater off is not confirmed. PULL THE MAINS PLUG OF THE PLATE; a second signal ends "
                "process " +
                me);
    }
    say("heater off, read back; what it has heated may be hot");
    if (alone && settings_.goesOnAlone)
        settings_.goesOnAlone(false);
    return true;
}

} // namespace

int guard(const Fork& fork, const FrontLine& front, const OpenToTurnOff& openPlate,
          const GuardianSettings& settings)
{
    return Guardian(front, openPlate, settings).guard(fork);
}

int turnHeaterOff(const FrontLine& front, const OpenToTurnOff& openPlate, const GuardianSettings& settings)
{
    Guardian(front, openPlate, settings).turnHeaterOff();
    return 1;
}

} // namespace stripwright
