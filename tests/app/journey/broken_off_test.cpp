#include "journey.h"

#include "runlog/run_log.h"

#include <csignal>
#include <nlohmann/json.hpp>

using namespace stripwright;

namespace {

nlohmann::json review(const std::string& runs, const std::string& key)
{
    Program program("stripwright", {"review", key, "--runs", runs, "--json"});
    EXPECT_EQ(program.exitCode(), 0) << program.talk();
    return nlohmann::json::parse(program.out());
}

// Samples committed to the newest run so far; 0 while there is none.
long samplesIn(const std::string& runs)
{
    try {
        const auto all = RunReader(runs).runs();
        return all.empty() ? 0 : all.front().samples;
    } catch (const RunLogError&) {
        return 0;
    }
}

// Confirms every card by Enter until so much of the run is committed; false if it ended before.
bool runsUntil(Program& run, const std::string& runs, long samples)
{
    const bool there = waitFor([&] {
        run.press("\n");
        return samplesIn(runs) > samples || !run.running();
    });
    return there && run.running();
}

constexpr long wellIntoTheHeat = 300; // 60 s of plate time: past the start, long before heater-off.

} // namespace

TEST(CtrlC, TurnsTheHeaterOffReadsItBackAndKeepsTheRun)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    Program run("stripwright", {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"});
    ASSERT_TRUE(runsUntil(run, runs, wellIntoTheHeat)) << run.talk();
    EXPECT_GT(plate.reading().sensorC, 40);

    kill(-run.pid(), SIGINT); // The whole group, as a terminal does.
    EXPECT_EQ(run.exitCode(), 6) << run.talk();
    EXPECT_NE(run.talk().find("heater off, read back"), std::string::npos) << run.talk();
    EXPECT_EQ(plate.reading().duty, 0);
    EXPECT_FALSE(plate.reading().watchdogTripped); // It was told, not left alone.
    EXPECT_TRUE(descendantsNamed(getpid(), "stripwright-controller").empty());

    const auto kept = review(runs, "");
    EXPECT_EQ(kept.at("outcome"), "stopped_by_operator");
    EXPECT_GT(kept.at("samples"), wellIntoTheHeat);
}

TEST(KilledController, IsCutOffByThePlateAndItsRunStandsAsInterruptedAtTheNextStart)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    std::string key;
    long seen = 0;
    {
        Program run("stripwright", {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"});
        ASSERT_TRUE(runsUntil(run, runs, wellIntoTheHeat)) << run.talk();
        const auto controllers = descendantsNamed(run.pid(), "stripwright-controller");
        ASSERT_GE(controllers.size(), 2u); // The controller and its guardian.
        EXPECT_GT(plate.reading().duty, 0);
        for (const int signal : {SIGSTOP, SIGKILL}) // none may act for the others in between
            for (const pid_t controller : controllers)
                kill(controller, signal);
        EXPECT_EQ(run.exitCode(), 1) << run.talk();
        EXPECT_NE(run.talk().find("controller"), std::string::npos) << run.talk();
        const RunSummary newest = RunReader(runs).runs().at(0);
        key = newest.key;
        seen = newest.samples;
        EXPECT_FALSE(newest.outcome);
    }
    EXPECT_GT(seen, wellIntoTheHeat);

    // The watchdog has 3 s of plate time; nothing but it is left to turn the heater off.
    std::this_thread::sleep_for(std::chrono::seconds(1));
    const PlateReading cutOff = plate.reading();
    EXPECT_TRUE(cutOff.watchdogTripped);
    std::this_thread::sleep_for(std::chrono::seconds(2)); // 40 s of the plate's
    EXPECT_LT(plate.reading().sensorC, cutOff.sensorC - 5) << "the heater is still on";

    Program next("stripwright", {"run", plan, "--runs", runs, "--speed", "20"});
    ASSERT_TRUE(waitFor([&] { return samplesIn(runs) > 0 && RunReader(runs).runs().front().key != key; }))
        << next.talk();
    kill(next.pid(), SIGINT);
    EXPECT_EQ(next.exitCode(), 6) << next.talk();

    const auto kept = review(runs, key);
    EXPECT_EQ(kept.at("outcome"), "interrupted");
    EXPECT_EQ(kept.at("samples"), seen);
    const RecordedRun recorded = RunReader(runs).read(key);
    ASSERT_EQ(static_cast<long>(recorded.samples.size()), seen);
    for (long i = 0; i < seen; ++i)
        ASSERT_EQ(recorded.samples[static_cast<size_t>(i)].seq, i + 1);
}

TEST(KilledCommandLine, LeavesARunThatIsFoundFollowedAndStoppedByTheKeyThatPausesOthers)
{
    const ScratchFolder folder;
    const std::vector<std::pair<std::string, std::string>> mine = {{"STRIPWRIGHT_RUNNING", folder / "running"}};
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    Program run("stripwright", {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"}, mine);
    ASSERT_TRUE(runsUntil(run, runs, 20)) << run.talk();
    kill(run.pid(), SIGKILL); // It alone: its controller has a group of its own.

    Program running("stripwright", {"running", "--json"}, mine);
    EXPECT_EQ(running.exitCode(), 0) << running.talk();
    const auto found = nlohmann::json::parse(running.out()).at("controllers");
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].at("state"), "running");
    EXPECT_EQ(found[0].at("simulated"), true);

    const std::string process = std::to_string(found[0].at("process").get<int>());
    Program follow("stripwright", {"follow", process}, mine);
    ASSERT_TRUE(waitFor([&] {
        return follow.running() && follow.talk().find("heating by the plan") != std::string::npos;
    })) << follow.talk();
    kill(-follow.pid(), SIGTSTP);
    EXPECT_EQ(follow.exitCode(), 6) << follow.talk();
    EXPECT_NE(follow.talk().find("heater off, read back"), std::string::npos) << follow.talk();
    EXPECT_EQ(plate.reading().duty, 0);

    Program stop("stripwright", {"stop"}, mine); // Once more does no harm, and says so.
    EXPECT_EQ(stop.exitCode(), 0) << stop.talk();
    kill(found[0].at("process").get<int>(), SIGTERM);
}
