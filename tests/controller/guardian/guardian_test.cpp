#include "guardian/guardian.h"
#include "guardian/plate_lock.h"

#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

/// Confirms "heater off" only at the third time, or as late as it is told.
struct SlowPlate : Plate {
    int& calls;
    const int confirmsAt;
    SlowPlate(int& count, int at) : calls(count), confirmsAt(at) {}
    std::optional<PlateReading> read() override { return {}; }
    bool setDuty(double) override { return false; }
    bool setSetpointC(double) override { return false; }
    bool heaterOff() override { return ++calls >= confirmsAt; }
    bool setFan(bool) override { return true; }
    bool setStripLifted(bool) override { return true; }
    std::string lastError() const override { return "no answer"; }
};

/// A guardian in this process, with a front that is this test.
struct Guarded {
    std::function<void(int)> work;
    std::function<void(pid_t, int)> meanwhile; ///< Child, and where the front's orders go.
    int confirmsAt = 3;
    bool connects = true;
    GuardianSettings settings{.longestStallS = 0.3, .longestDyingS = 5, .retryEveryS = 0.01};

    int exitCode = 0, opened = 0, offCalls = 0;
    std::string said;

    Guarded& run()
    {
        sigset_t before;
        sigprocmask(SIG_SETMASK, nullptr, &before);
        int orders[2];
        EXPECT_EQ(pipe2(orders, O_NONBLOCK | O_CLOEXEC), 0);
        static volatile std::sig_atomic_t termed;
        termed = 0;
        const Fork fork = forkUnderGuardian([](int) { termed = 1; });
        if (fork.child == 0) {
            work(fork.heartbeat);
            while (!termed)
                usleep(1000);
            sayOrderlyEnd(fork.heartbeat);
            _exit(6);
        }
        if (meanwhile)
            meanwhile(fork.child, orders[1]);
        settings.say = [&](const std::string& text) { said += text + "\n"; };
        const auto open = [&]() -> std::unique_ptr<Plate> {
            // The controller must be gone before its line is taken over.
            EXPECT_EQ(kill(fork.child, 0), -1);
            if (++opened < 2 || !connects)
                throw std::runtime_error("connection refused");
            return std::make_unique<SlowPlate>(offCalls, confirmsAt);
        };
        exitCode = guard(fork, {orders[0], -1}, open, settings);
        for (int fd : {fork.heartbeat, orders[0], orders[1]})
            close(fd);
        sigprocmask(SIG_SETMASK, &before, nullptr);
        return *this;
    }
};

static void endOrderly(int heartbeat)
{
    sayOrderlyEnd(heartbeat);
    _exit(7);
}

TEST(Guardian, OrderlyEndPassesTheExitCodeAndLeavesThePlateAlone)
{
    Guarded guarded{.work = endOrderly};
    EXPECT_EQ(guarded.run().exitCode, 7);
    EXPECT_EQ(guarded.opened, 0);
}

TEST(Guardian, EndWithoutGoodbyeTurnsTheHeaterOffUntilConfirmed)
{
    Guarded guarded{.work = [](int) { _exit(8); }};
    EXPECT_EQ(guarded.run().exitCode, 8);
    EXPECT_GE(guarded.opened, 2) << "tries again after a refused connection";
    EXPECT_EQ(guarded.offCalls, 3);
}

TEST(Guardian, EndWithoutGoodbyeIsNoSuccess)
{
    Guarded guarded{.work = [](int) { _exit(0); }};
    EXPECT_EQ(guarded.run().exitCode, 1);
    EXPECT_EQ(guarded.offCalls, 3);
}

TEST(Guardian, DeathByASignalTurnsTheHeaterOff)
{
    Guarded guarded{.work = [](int) { raise(SIGKILL); }};
    EXPECT_EQ(guarded.run().exitCode, 1);
    EXPECT_EQ(guarded.offCalls, 3);
}

static void beatOnceAndStandStill(int heartbeat)
{
    if (write(heartbeat, "b", 1) == 1)
        for (;;)
            pause();
}

TEST(Guardian, ControllerThatStandsStillIsKilledFirst)
{
    Guarded guarded{.work = beatOnceAndStandStill};
    EXPECT_EQ(guarded.run().exitCode, 1);
    EXPECT_EQ(guarded.offCalls, 3);
}

static void sayOffAndTakeLong(int heartbeat)
{
    EXPECT_EQ(write(heartbeat, "b", 1), 1);
    sayHeaterOff(heartbeat);
    usleep(900'000);
    endOrderly(heartbeat);
}

TEST(Guardian, ControllerWhoseHeaterIsOffMayTakeLongForItsEnd)
{
    Guarded guarded{.work = sayOffAndTakeLong};
    EXPECT_EQ(guarded.run().exitCode, 7);
    EXPECT_EQ(guarded.opened, 0);
}

TEST(Guardian, ControllerWhoseHeaterIsOffMayNotTakeForEverNorDie)
{
    Guarded endless{.work = sayOffAndTakeLong};
    endless.settings.longestEndS = 0.5;
    EXPECT_EQ(endless.run().exitCode, 1);
    EXPECT_EQ(endless.offCalls, 3);

    Guarded dying{.work = [](int heartbeat) {
        sayHeaterOff(heartbeat);
        raise(SIGKILL);
    }};
    EXPECT_EQ(dying.run().exitCode, 1);
    EXPECT_EQ(dying.offCalls, 3);
}

TEST(Guardian, ControllerThatGoesOnAfterHeaterOffIsWatchedAsBefore)
{
    Guarded guarded{.work = [](int heartbeat) {
        sayHeaterOff(heartbeat);
        usleep(200'000);
        EXPECT_EQ(write(heartbeat, "b", 1), 1);
        usleep(5'000'000);
        endOrderly(heartbeat);
    }};
    EXPECT_EQ(guarded.run().exitCode, 1);
    EXPECT_EQ(guarded.offCalls, 3);
}

TEST(Guardian, DoesNotGiveUpAndAsksForThePlugAgainAndAgain)
{
    Guarded guarded{.work = beatOnceAndStandStill, .confirmsAt = 60};
    guarded.settings.plugAfterS = 0.1;
    guarded.settings.plugEveryS = 0.1;
    guarded.run();
    EXPECT_EQ(guarded.offCalls, 60);
    const size_t first = guarded.said.find("PULL THE MAINS PLUG");
    ASSERT_NE(first, std::string::npos) << guarded.said;
    EXPECT_NE(guarded.said.find("PULL THE MAINS PLUG", first + 1), std::string::npos) << guarded.said;
}

TEST(Guardian, OnlyASecondSignalToItselfEndsTheTurningOff)
{
    Guarded guarded{.work = [](int) { _exit(1); }, .confirmsAt = 1'000'000};
    const pid_t me = getpid();
    guarded.meanwhile = [&](pid_t child, int orders) {
        ASSERT_EQ(waitid(P_PID, static_cast<id_t>(child), nullptr, WEXITED | WNOWAIT), 0);
        EXPECT_EQ(write(orders, "sspp", 4), 4); // whatever the front wants
        const pid_t killer = fork();
        if (killer == 0) {
            usleep(300'000);
            kill(me, SIGTERM);
            usleep(300'000);
            kill(me, SIGTERM);
            _exit(0);
        }
    };
    EXPECT_EQ(guarded.run().exitCode, 1);
    EXPECT_GT(guarded.offCalls, 3);
    EXPECT_NE(guarded.said.find("a second signal ends"), std::string::npos) << guarded.said;
    EXPECT_NE(guarded.said.find("never confirmed"), std::string::npos) << guarded.said;
}

TEST(Guardian, OnlyASimulatedPlateCountsAsEndedWhenNoLineLeadsToIt)
{
    Guarded guarded{.work = [](int) { _exit(1); }, .connects = false};
    guarded.settings.goneAfterS = 0.3;
    EXPECT_EQ(guarded.run().exitCode, 1);
    EXPECT_EQ(guarded.offCalls, 0);
    EXPECT_NE(guarded.said.find("simulated plate has ended"), std::string::npos) << guarded.said;

    Guarded answering{.work = [](int) { _exit(1); }, .confirmsAt = 60};
    answering.settings.goneAfterS = 0.3;
    answering.run();
    EXPECT_EQ(answering.offCalls, 60) << "there is a line";
}

static void nothing(int) {}

TEST(Guardian, TermSignalGoesOnToTheController)
{
    Guarded guarded{.work = nothing, .meanwhile = [](pid_t, int) { kill(getpid(), SIGTERM); }};
    EXPECT_EQ(guarded.run().exitCode, 6);
    EXPECT_EQ(guarded.opened, 0);
}

TEST(Guardian, WhatTheFrontAsksForGoesOnToTheController)
{
    for (const char* order : {"bbs", "bp"}) {
        Guarded guarded{.work = nothing};
        guarded.meanwhile = [&](pid_t, int orders) { EXPECT_GT(write(orders, order, strlen(order)), 0); };
        EXPECT_EQ(guarded.run().exitCode, 6) << order;
    }
}

TEST(Guardian, FrontThatFallsSilentEndsTheHeat)
{
    Guarded guarded{.work = nothing};
    guarded.settings.longestFrontSilenceS = 0.3;
    EXPECT_EQ(guarded.run().exitCode, 6);
    EXPECT_NE(guarded.said.find("stands still"), std::string::npos) << guarded.said;
}

static PlateLink linkTo(const std::string& host, int port)
{
    PlateLink link;
    link.host = host;
    link.port = port;
    return link;
}

TEST(PlateLock, SecondControllerOfTheSamePlateIsRefused)
{
    const PlateLock first(linkTo("127.0.0.1", 65001));
    EXPECT_THROW(PlateLock(linkTo("127.0.0.1", 65001)), PlateInUse);
    EXPECT_NO_THROW(PlateLock(linkTo("127.0.0.1", 65002)));
}

TEST(PlateLock, OnePlateUnderTwoNamesOfItsHostIsOne)
{
    const PlateLock first(linkTo("localhost", 65003));
    EXPECT_THROW(PlateLock(linkTo("127.0.0.1", 65003)), PlateInUse);
    EXPECT_THROW(PlateLock(linkTo("::ffff:127.0.0.1", 65003)), PlateInUse);
    EXPECT_NO_THROW(PlateLock(linkTo("127.0.0.1", 65004)));
}

TEST(PlateLock, IsTheComputersAndNotARuntimeFolders)
{
    const PlateLock first(linkTo("127.0.0.1", 65005));
    setenv("XDG_RUNTIME_DIR", testing::TempDir().c_str(), 1);
    EXPECT_THROW(PlateLock(linkTo("127.0.0.1", 65005)), PlateInUse);
    unsetenv("XDG_RUNTIME_DIR");
    EXPECT_THROW(PlateLock(linkTo("127.0.0.1", 65005)), PlateInUse);
}

TEST(PlateLock, RefusalNamesTheProcessThatHoldsItLast)
{
    const auto whoHolds = [] {
        try {
            const PlateLock second(linkTo("127.0.0.1", 65006));
            return std::string("nobody");
        } catch (const PlateInUse& refused) {
            return std::string(refused.what());
        }
    };
    const PlateLock first(linkTo("127.0.0.1", 65006));
    EXPECT_NE(whoHolds().find("process " + std::to_string(getpid()) + " (test_guardian) of user "),
              std::string::npos)
        << whoHolds();
    int ready[2];
    ASSERT_EQ(pipe(ready), 0);
    const pid_t child = fork();
    if (child == 0) {
        first.holdInThisProcess();
        (void)!write(ready[1], "r", 1);
        for (;;)
            pause();
    }
    char one;
    ASSERT_EQ(read(ready[0], &one, 1), 1);
    EXPECT_NE(whoHolds().find("process " + std::to_string(child)), std::string::npos) << whoHolds();
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
}

TEST(PlateLock, IsHeldByWhoeverInheritedIt)
{
    auto first = std::make_unique<PlateLock>(linkTo("127.0.0.1", 65007));
    const pid_t child = fork();
    if (child == 0)
        for (;;)
            pause();
    first.reset();
    EXPECT_THROW(PlateLock(linkTo("127.0.0.1", 65007)), PlateInUse);
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    EXPECT_NO_THROW(PlateLock(linkTo("127.0.0.1", 65007)));
}

TEST(PlateLock, HostNobodyKnowsIsSaidSo)
{
    EXPECT_THROW(PlateLock(linkTo("no-such-plate.invalid", 502)), LinkError);
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
