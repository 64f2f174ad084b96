#include "guardian/guardian.h"
#include "guardian/plate_lock.h"

#include <csignal>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

/// Confirms "heater off" only at the third time.
struct SlowPlate : Plate {
    int& calls;
    explicit SlowPlate(int& count) : calls(count) {}
    std::optional<PlateReading> read() override { return {}; }
    bool setDuty(double) override { return false; }
    bool setSetpointC(double) override { return false; }
    bool heaterOff() override { return ++calls >= 3; }
    bool setFan(bool) override { return true; }
    bool setStripLifted(bool) override { return true; }
    std::string lastError() const override { return "no answer"; }
};

struct Guarded {
    int exitCode = 0, opened = 0, offCalls = 0;
};

static Guarded guardThis(const std::function<void(int)>& work,
                         const std::function<void(pid_t)>& meanwhile = {})
{
    const Fork fork = forkUnderGuardian();
    if (fork.child == 0) {
        work(fork.heartbeat);
        _exit(7);
    }
    if (meanwhile)
        meanwhile(fork.child);
    Guarded guarded;
    auto open = [&]() -> std::unique_ptr<Plate> {
        // The controller must be gone before its line is taken over.
        EXPECT_EQ(kill(fork.child, 0), -1);
        if (++guarded.opened < 2)
            throw std::runtime_error("connection refused");
        return std::make_unique<SlowPlate>(guarded.offCalls);
    };
    guarded.exitCode = guard(fork, open, {.longestStallS = 0.3, .retryEveryS = 0.01, .giveUpAfterS = 5});
    close(fork.heartbeat);
    return guarded;
}

TEST(Guardian, OrderlyEndPassesTheExitCodeAndLeavesThePlateAlone)
{
    const Guarded guarded = guardThis([](int heartbeat) { sayOrderlyEnd(heartbeat); });
    EXPECT_EQ(guarded.exitCode, 7);
    EXPECT_EQ(guarded.opened, 0);
}

TEST(Guardian, EndWithoutGoodbyeTurnsTheHeaterOffUntilConfirmed)
{
    const Guarded guarded = guardThis([](int) {});
    EXPECT_EQ(guarded.exitCode, 1);
    EXPECT_GE(guarded.opened, 2) << "tries again after a refused connection";
    EXPECT_EQ(guarded.offCalls, 3);
}

TEST(Guardian, DeathByASignalTurnsTheHeaterOff)
{
    EXPECT_EQ(guardThis([](int) { raise(SIGKILL); }).offCalls, 3);
}

TEST(Guardian, ControllerThatStandsStillIsKilledFirst)
{
    const Guarded guarded = guardThis([](int heartbeat) {
        if (write(heartbeat, "b", 1) == 1)
            for (;;)
                pause();
    });
    EXPECT_EQ(guarded.offCalls, 3);
}

TEST(Guardian, TermSignalGoesOnToTheController)
{
    static volatile std::sig_atomic_t termed = 0;
    const Guarded guarded = guardThis(
        [](int heartbeat) {
            std::signal(SIGTERM, [](int) { termed = 1; });
            while (!termed)
                usleep(1000);
            sayOrderlyEnd(heartbeat);
            _exit(6);
        },
        [](pid_t) {
            // Delivered to this process once guard() has blocked it.
            sigset_t set;
            sigemptyset(&set);
            sigaddset(&set, SIGTERM);
            sigprocmask(SIG_BLOCK, &set, nullptr);
            usleep(100'000);
            kill(getpid(), SIGTERM);
        });
    EXPECT_EQ(guarded.exitCode, 6);
    EXPECT_EQ(guarded.opened, 0);
}

TEST(PlateLock, SecondControllerOfTheSamePlateIsRefused)
{
    const auto at = [](int port) {
        PlateLink link;
        link.host = "127.0.0.1";
        link.port = port;
        return link;
    };
    const PlateLock first(at(65001));
    EXPECT_THROW(PlateLock(at(65001)), PlateInUse);
    EXPECT_NO_THROW(PlateLock(at(65002)));
}

TEST(PlateLock, OneSerialDeviceUnderTwoNamesIsOneLine)
{
    const auto at = [](const std::string& device) {
        PlateLink link;
        link.serial = SerialLine{.device = device};
        return link;
    };
    const std::string other = testing::TempDir() + "another-name-of-the-line";
    unlink(other.c_str());
    ASSERT_EQ(symlink("/dev/ptmx", other.c_str()), 0);
    const PlateLock first(at("/dev/ptmx"));
    try {
        const PlateLock second(at(other));
        FAIL() << "two controllers on one line";
    } catch (const PlateInUse& refused) {
        EXPECT_NE(std::string(refused.what()).find(other + " at 19200 8E1"), std::string::npos)
            << refused.what();
    }
    EXPECT_NO_THROW(PlateLock(at("/dev/tty-that-is-not-there")));
    unlink(other.c_str());
}

} // namespace stripwright
