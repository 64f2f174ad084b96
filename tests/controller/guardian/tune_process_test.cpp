#include "child_program.h"
#include "link/plate_link.h"
#include "lone_guardian.h"
#include "messages/running.h"
#include "scratch_folder.h"
#include "terminal_program.h"

#include <chrono>
#include <nlohmann/json.hpp>

using namespace stripwright;
using nlohmann::json;

namespace {

/// A bare plate whose own watchdog waits a minute, and a tune that heats it.
class TuneUnderHeat : public testing::Test {
protected:
    void startPlate(const std::string& speed = "8", const std::vector<std::string>& more = {})
    {
        speed_ = speed;
        std::vector<std::string> arguments{
            "--tcp",      "0",
            "--bare",     "--without-truth",
            "--speed",    speed,
            "--sheet",    std::string(SHELF_DIR) + "/marram-lane-bar-7.bench.json",
            "--link-out", folder / "made.json"};
        arguments.insert(arguments.end(), more.begin(), more.end());
        plate = std::make_unique<ChildProgram>("stripwright-plate", arguments);
        ASSERT_TRUE(waitFor([&] { return std::filesystem::exists(folder / "made.json"); }))
            << plate->errors();
        json link = json::parse(textOf(folder / "made.json"));
        link["watchdog_s"] = 60;
        std::ofstream(folder / "link.json") << link;
    }
    std::vector<std::string> tune() const
    {
        return {"tune",
                folder / "link.json",
                "--out",
                folder / "out.json",
                "--power",
                "900",
                "--plate-is-bare",
                "--speed",
                speed_};
    }
    std::optional<double> duty()
    {
        try {
            const auto line = openPlate(readPlateLink(textOf(folder / "link.json"), "link.json"));
            const auto reading = line->read();
            EXPECT_FALSE(reading && reading->watchdogTripped) << "only the plate itself has ended the heat";
            return reading ? reading->duty : std::nullopt;
        } catch (const LinkError&) {
            return {};
        }
    }
    void waitForHeat()
    {
        ASSERT_TRUE(waitFor([&] { return duty() > 0.5; }));
    }
    /// Sooner than this heating is over by itself, some 5 s.
    void expectHeaterOff()
    {
        const auto begun = std::chrono::steady_clock::now();
        EXPECT_TRUE(waitFor([&] { return duty() == 0.0; }, 4));
        std::printf("heater off after %.2f s\n",
                    std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count());
    }
    void startInTerminal()
    {
        startPlate();
        terminal = std::make_unique<TerminalProgram>(tune());
        waitForHeat();
    }
    void startInBackground()
    {
        startPlate();
        controller = std::make_unique<ChildProgram>("stripwright-controller", tune());
        waitForHeat();
    }

    ScratchFolder folder;
    std::string speed_;
    std::unique_ptr<ChildProgram> plate, controller;
    std::unique_ptr<TerminalProgram> terminal;
};

constexpr char ctrl(char key)
{
    return static_cast<char>(key & 0x1f);
}

TEST_F(TuneUnderHeat, IsFoundWhileItHeatsAndEndsWhenThatProcessIsAskedTo)
{
    setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1);
    startInBackground();
    const std::vector<RunningController> found = runningHeats();
    unsetenv("STRIPWRIGHT_RUNNING");
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].pid, controller->pid());
    EXPECT_EQ(found[0].work, "learning a plate");
    EXPECT_EQ(found[0].plateLink, (folder / "link.json").string());
    EXPECT_EQ(found[0].socket, "");
    EXPECT_EQ(lookAt(found[0]), EntryState::Held);
    kill(found[0].pid, SIGTERM);
    EXPECT_TRUE(waitFor([&] { return lookAt(found[0]) != EntryState::Held; }));
    EXPECT_EQ(lookAt(found[0]), EntryState::Ended);
    EXPECT_EQ(duty(), 0);
    EXPECT_EQ(controller->exitCode(), 6) << controller->errors();
}

class EveryKey : public TuneUnderHeat, public testing::WithParamInterface<char> {};

TEST_P(EveryKey, TypedIntoTheTerminalEndsTheHeat)
{
    startInTerminal();
    terminal->type(ctrl(GetParam()));
    expectHeaterOff();
    EXPECT_EQ(terminal->exitCode(), 6) << terminal->screen();
    EXPECT_NE(terminal->screen().find("Heater off, read back; the plate last read"), std::string::npos)
        << terminal->screen();
    const bool pause = GetParam() != 'C';
    EXPECT_EQ(terminal->screen().find("cannot be paused") != std::string::npos, pause) << terminal->screen();
}

INSTANTIATE_TEST_SUITE_P(TuneUnderHeat, EveryKey, testing::Values('C', 'Z', '\\'), [](const auto& key) {
    return key.param == '\\' ? std::string("CtrlBackslash") : std::string("Ctrl") + key.param;
});

TEST_F(TuneUnderHeat, GoesOnToItsEndBehindATerminalThatStandsStill)
{
    startPlate("20");
    std::vector<std::string> arguments = tune();
    arguments.push_back("--json"); // more than a terminal takes unread
    terminal = std::make_unique<TerminalProgram>(arguments);
    waitForHeat();
    terminal->type(ctrl('S'));
    EXPECT_TRUE(waitFor([&] { return std::filesystem::exists(folder / "out.json"); }, 200));
    EXPECT_EQ(duty(), 0);
    EXPECT_EQ(terminal->exitCode(), 8) << "not all that it said was taken";
}

TEST_F(TuneUnderHeat, BehindATerminalThatStandsStillItIsStillStopped)
{
    startInTerminal();
    const pid_t front = terminal->front();
    terminal->type(ctrl('S'));
    kill(front, SIGINT);
    expectHeaterOff();
    EXPECT_EQ(terminal->exitCode(), 6);
}

TEST_F(TuneUnderHeat, TerminalThatIsClosedEndsTheHeat)
{
    startInTerminal();
    terminal->closeTerminal();
    expectHeaterOff();
}

/// Standard output and error are a pipe.
class TuneIntoAPipe : public TuneUnderHeat {
protected:
    void SetUp() override
    {
        startPlate();
        ASSERT_EQ(pipe2(ends, O_CLOEXEC), 0);
        ASSERT_GT(fcntl(ends[1], F_SETPIPE_SZ, 4096), 0);
        controller = std::make_unique<ChildProgram>("stripwright-controller", tune(),
                                                    ChildProgram::Environment{}, ends[1]);
        waitForHeat();
    }
    void expectControlledUntilStopped()
    {
        for (int n = 0; n < 12; ++n) { // longer than a guardian waits for one that stands still
            usleep(200'000);
            ASSERT_GT(duty(), 0.0);
        }
        const pid_t worker = controller->worker(), guardian = controller->guardian();
        controller->signal(SIGINT);
        expectHeaterOff();
        EXPECT_EQ(controller->exitCode(), 6);
        EXPECT_TRUE(waitFor([&] { return hasEnded(worker) && hasEnded(guardian); }));
    }

    void fill() const
    {
        // Opened anew: its flags must not become those of the program.
        const int full =
            open(("/proc/self/fd/" + std::to_string(ends[1])).c_str(), O_WRONLY | O_NONBLOCK | O_CLOEXEC);
        ASSERT_GE(full, 0);
        while (write(full, "full", 4) > 0 || write(full, "f", 1) > 0)
            ;
        close(full);
    }

    int ends[2];
};

TEST_F(TuneIntoAPipe, NobodyReadsGoesOn)
{
    fill();
    expectControlledUntilStopped();
    close(ends[0]);
}

TEST_F(TuneIntoAPipe, ReaderIsGoneGoesOn)
{
    close(ends[0]);
    expectControlledUntilStopped();
}

TEST_F(TuneUnderHeat, FrontKilledEndsTheHeat)
{
    startInBackground();
    const pid_t worker = controller->worker(), guardian = controller->guardian();
    controller->signal(SIGKILL);
    expectHeaterOff();
    EXPECT_TRUE(waitFor([&] { return hasEnded(worker) && hasEnded(guardian); }));
}

TEST_F(TuneUnderHeat, FrontAndGuardianKilledEndTheHeat)
{
    startInBackground();
    const pid_t worker = controller->worker();
    kill(controller->guardian(), SIGKILL);
    controller->signal(SIGKILL);
    expectHeaterOff();
    EXPECT_TRUE(waitFor([&] { return hasEnded(worker); }));
}

TEST_F(TuneUnderHeat, GuardianKilledEndsTheHeatAndTheFrontWaitsForIt)
{
    startInBackground();
    kill(controller->guardian(), SIGKILL);
    expectHeaterOff();
    EXPECT_EQ(controller->exitCode(), 7) << controller->errors();
    EXPECT_NE(controller->errors().find("guards the heater was killed"), std::string::npos)
        << controller->errors();
}

TEST_F(TuneUnderHeat, GuardianThatStandsStillDoesNotKeepAStopFromTheWorker)
{
    startInBackground();
    kill(controller->guardian(), SIGSTOP);
    controller->signal(SIGINT);
    expectHeaterOff();
}

TEST_F(TuneUnderHeat, WorkerThatStandsStillIsKilledAndTheHeaterTurnedOff)
{
    startInBackground();
    kill(controller->worker(), SIGSTOP);
    expectHeaterOff();
    EXPECT_EQ(controller->exitCode(), 1);
    EXPECT_NE(controller->errors().find("heater off, read back"), std::string::npos) << controller->errors();
}

TEST_F(TuneUnderHeat, GuardianAndWorkerKilledGiveTheFrontANewGuardian)
{
    startInBackground();
    const pid_t worker = controller->worker();
    kill(controller->guardian(), SIGKILL);
    kill(worker, SIGKILL);
    expectHeaterOff();
    EXPECT_EQ(controller->exitCode(), 1);
    EXPECT_NE(controller->errors().find("heater off, read back"), std::string::npos) << controller->errors();
}

TEST_F(TuneUnderHeat, NobodyInFrontOfASilentPlateTheGuardianGoesOnUntilItAnswers)
{
    startInBackground();
    const pid_t guardian = controller->guardian();
    plate->signal(SIGSTOP);
    kill(controller->worker(), SIGKILL);
    ASSERT_TRUE(waitFor([&] {
        return controller->errors().find("PULL THE MAINS PLUG") != std::string::npos;
    })) << controller->errors();
    controller->signal(SIGINT);
    EXPECT_EQ(controller->exitCode(), 1);
    ASSERT_FALSE(hasEnded(guardian));
    EXPECT_TRUE(waitFor([&] {
        return controller->errors().find("process " + std::to_string(guardian) +
                                         " goes on sending heater off. If") != std::string::npos;
    })) << controller->errors();

    ChildProgram second("stripwright-controller", tune());
    EXPECT_EQ(second.exitCode(), 5) << "the plate is still held";
    plate->signal(SIGCONT);
    expectHeaterOff();
    EXPECT_TRUE(waitFor([&] { return hasEnded(guardian); }));
}

TEST_F(TuneUnderHeat, GuardianThatGoesOnAloneIsFoundInItsPlaceUntilTheHeaterIsOff)
{
    setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1);
    startInBackground();
    const pid_t guardian = controller->guardian();
    plate->signal(SIGSTOP);
    kill(controller->worker(), SIGKILL);
    const std::vector<RunningController> found = heatsOnceOneGoesOnAlone();
    ASSERT_EQ(found.size(), 1u) << "what stands in front of it is the same heat";
    EXPECT_EQ(found[0].pid, guardian);
    EXPECT_EQ(found[0].plateLink, (folder / "link.json").string());
    controller->signal(SIGKILL);
    EXPECT_EQ(controller->exitCode(), 128 + SIGKILL);
    ASSERT_EQ(runningHeats().size(), 1u);
    EXPECT_EQ(runningHeats()[0].pid, guardian);
    plate->signal(SIGCONT);
    EXPECT_TRUE(waitFor([&] { return hasEnded(guardian); }));
    EXPECT_EQ(lookAt(found[0]), EntryState::Ended) << "only so it is told from one that was killed";
    EXPECT_TRUE(runningHeats().empty());
    unsetenv("STRIPWRIGHT_RUNNING");
}

TEST_F(TuneUnderHeat, GuardianThatIsEndedBySignalsBeforeTheHeaterIsOffCountsAsKilled)
{
    setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1);
    startInBackground();
    const pid_t guardian = controller->guardian();
    plate->signal(SIGSTOP);
    kill(controller->worker(), SIGKILL);
    const std::vector<RunningController> found = heatsOnceOneGoesOnAlone();
    ASSERT_FALSE(found.empty());
    kill(guardian, SIGTERM);
    ASSERT_TRUE(waitFor([&] { return controller->errors().find("a second signal") != std::string::npos; }));
    kill(guardian, SIGTERM);
    EXPECT_EQ(controller->exitCode(), 1);
    EXPECT_EQ(lookAt(found[0]), EntryState::Killed);
    unsetenv("STRIPWRIGHT_RUNNING");
}

TEST_F(TuneUnderHeat, PlateThatIsNotSaidToBeSimulatedTakesItsOwnTime)
{
    startPlate("20");
    json link = json::parse(textOf(folder / "link.json"));
    link.erase("simulated");
    std::ofstream(folder / "link.json") << link;
    ChildProgram fast("stripwright-controller", tune());
    EXPECT_EQ(fast.exitCode(), 2);
    EXPECT_NE(fast.errors().find("simulated"), std::string::npos) << fast.errors();
}

TEST_F(TuneUnderHeat, StopWhileItCoolsEndsOnlyThatAndADoubtedPowerIsAskedAboutBeforeThePlateIsOnTheShelf)
{
    startPlate("20");
    std::vector<std::string> arguments = tune();
    arguments.insert(arguments.end(),
                     {"--shelf", folder / "shelf", "--size", "20x100x1"}); // too small for it
    terminal = std::make_unique<TerminalProgram>(arguments);
    const auto shows = [&](const char* words) {
        return waitFor([&] { return terminal->screen().find(words) != std::string::npos; }, 120);
    };
    ASSERT_TRUE(shows("Ctrl+C ends only")) << terminal->screen();
    EXPECT_EQ(duty(), 0);
    terminal->type(ctrl('C'));
    ASSERT_TRUE(shows("Type y and Enter")) << terminal->screen();
    terminal->type('y');
    terminal->type('\n');
    EXPECT_EQ(terminal->exitCode(), 0) << terminal->screen();
    const json learnt = json::parse(textOf(folder / "out.json")).at("identified");
    EXPECT_GT(learnt.at("heat_capacity_error_share"), 0.005);
    const json shelf = json::parse(textOf(folder / "shelf/plates.json"));
    ASSERT_EQ(shelf.at("entries").size(), 1u);
    EXPECT_EQ(shelf.at("entries").at(0).at("width_mm"), 100);
    EXPECT_EQ(shelf.at("entries").at(0).at("power_W"), 900);
}

TEST_F(TuneUnderHeat, OwnLoopWhoseWatchdogWasNeverProvenIsSaidToGoOnWithoutTheComputer)
{
    startPlate("8", {"--drive", "setpoint", "--tells-no-duty"});
    controller = std::make_unique<ChildProgram>("stripwright-controller", tune());
    EXPECT_TRUE(waitFor([&] {
        return controller->errors().find("if this computer dies it goes on to there") != std::string::npos;
    }));
    controller->signal(SIGINT);
    EXPECT_EQ(controller->exitCode(), 6) << controller->errors();
}

TEST_F(TuneUnderHeat, SizeThatIsNoneIsRefusedBeforeAnyHeat)
{
    startPlate();
    std::vector<std::string> arguments = tune();
    arguments.insert(arguments.end(), {"--shelf", folder / "shelf", "--size", "large"});
    controller = std::make_unique<ChildProgram>("stripwright-controller", arguments);
    EXPECT_EQ(controller->exitCode(), 2);
    EXPECT_NE(controller->errors().find("such as 100x100x8"), std::string::npos) << controller->errors();
    EXPECT_FALSE(std::filesystem::exists(folder / "shelf"));
}

} // namespace
