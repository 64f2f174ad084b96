#include "guardian/guardian.h"

#include <cerrno>
#include <chrono>
#include <csignal>
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
using Seconds = std::chrono::duration<double>;

static constexpr char orderlyEnd = 'E';

static sigset_t guardedSignals()
{
    sigset_t signals;
    sigemptyset(&signals);
    for (int signal : {SIGINT, SIGTERM, SIGHUP})
        sigaddset(&signals, signal);
    return signals;
}

Fork forkUnderGuardian()
{
    int ends[2];
    if (pipe2(ends, O_CLOEXEC | O_NONBLOCK) != 0)
        throw std::runtime_error(std::string("no pipe to the guardian: ") + std::strerror(errno));
    // Blocked across the fork, so that no signal is lost before the guardian listens for it.
    const sigset_t signals = guardedSignals();
    sigset_t before;
    sigprocmask(SIG_BLOCK, &signals, &before);
    const pid_t child = fork();
    if (child < 0)
        throw std::runtime_error(std::string("the guardian cannot fork: ") + std::strerror(errno));
    if (child == 0) {
        close(ends[0]);
        std::signal(SIGPIPE, SIG_IGN);
        sigprocmask(SIG_SETMASK, &before, nullptr);
        return {0, ends[1]};
    }
    close(ends[1]);
    return {child, ends[0]};
}

void sayOrderlyEnd(int heartbeat)
{
    // A full pipe means a guardian that stands still; it will read the bytes once it goes on.
    for (int n = 0; n < 100 && write(heartbeat, &orderlyEnd, 1) < 0 && (errno == EAGAIN || errno == EINTR);
         ++n)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
}

static void say(const std::string& text)
{
    std::fprintf(stderr, "guardian: %s\n", text.c_str());
}

static int turnHeaterOff(const std::function<std::unique_ptr<Plate>()>& openPlate,
                         const GuardianSettings& settings)
{
    const auto begun = Clock::now();
    std::unique_ptr<Plate> plate;
    std::string lastSaid;
    auto sayOnce = [&](const std::string& text) {
        if (text != lastSaid)
            say(text);
        lastSaid = text;
    };
    while (Seconds(Clock::now() - begun).count() < settings.giveUpAfterS) {
        try {
            if (!plate) {
                sayOnce("opening the line to the plate");
                plate = openPlate();
            }
            if (plate->heaterOff()) {
                say("heater off, read back");
                return 1;
            }
            sayOnce("heater off sent, not confirmed: " + plate->lastError());
            plate.reset();
        } catch (const std::exception& error) {
            sayOnce(std::string("the plate does not answer: ") + error.what());
        }
        std::this_thread::sleep_for(Seconds(settings.retryEveryS));
    }
    say("heater off was never confirmed. PULL THE MAINS PLUG OF THE PLATE.");
    return 1;
}

struct Heartbeats {
    bool any = false, orderly = false, closed = false;
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
            orderly = orderly || std::memchr(bytes, orderlyEnd, static_cast<size_t>(count));
        }
    }
};

int guard(const Fork& fork, const std::function<std::unique_ptr<Plate>()>& openPlate,
          const GuardianSettings& settings)
{
    const sigset_t signals = guardedSignals();
    sigprocmask(SIG_BLOCK, &signals, nullptr);
    const int signalled = signalfd(-1, &signals, SFD_CLOEXEC | SFD_NONBLOCK);
    Heartbeats heartbeats;
    for (;;) {
        // A pipe whose writer is gone is always ready: from then on only the end of the child is waited for.
        pollfd watched[2] = {{heartbeats.closed ? -1 : fork.heartbeat, POLLIN, 0}, {signalled, POLLIN, 0}};
        poll(watched, 2, heartbeats.closed ? 10 : 100);
        signalfd_siginfo info;
        while (read(signalled, &info, sizeof info) == static_cast<ssize_t>(sizeof info))
            kill(fork.child, SIGTERM);
        heartbeats.take(fork.heartbeat);

        int status = 0;
        const bool ended = waitpid(fork.child, &status, WNOHANG) == fork.child;
        const bool stalled = heartbeats.any && !heartbeats.orderly &&
                             Seconds(Clock::now() - heartbeats.last).count() > settings.longestStallS;
        if (!ended && !stalled)
            continue;
        heartbeats.take(fork.heartbeat);
        if (ended && heartbeats.orderly && WIFEXITED(status)) {
            close(signalled);
            return WEXITSTATUS(status);
        }
        if (ended) {
            say("the controller has died" +
                (WIFSIGNALED(status) ? " of signal " + std::to_string(WTERMSIG(status)) : std::string()));
        } else {
            say("the controller stands still; it is killed before its line is taken over");
            kill(fork.child, SIGKILL);
            waitpid(fork.child, &status, 0);
        }
        close(signalled);
        return turnHeaterOff(openPlate, settings);
    }
}

} // namespace stripwright
