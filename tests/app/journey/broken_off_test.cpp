#include "journey.h"

#include "runlog/run_log.h"

#include <algorithm>
#include <csignal>
#include <nlohmann/json.hpp>

using namespace stripwright;

namespace {

nlohmann::json review(const std::string& runs, const std::string& key)
{
    ChildProgram program("stripwright", {"review", key, "--runs", runs, "--json"});
    EXPECT_EQ(program.exitCode(), 0) << program.errors();
    return nlohmann::json::parse(program.output());
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
bool runsUntil(ChildProgram& run, const std::string& runs, long samples)
{
    const bool there = waitFor([&] {
        run.say("\n");
        return samplesIn(runs) > samples || run.exitCode(0);
    });
    return there && !run.exitCode(0);
}

constexpr long wellIntoTheHeat = 300; // 60 s of plate time: past the start, long before heater-off.

TEST(KilledCommandLine, AKilledRunOnItsOwnSimulatedPlateLeavesNobodyBehind)
{
    const ScratchFolder folder;
    const ChildProgram::Environment mine = {{"STRIPWRIGHT_RUNNING", folder / "running"}};
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    ChildProgram run("stripwright", {"run", plan, "--runs", runs, "--speed", "20"}, mine);
    ASSERT_TRUE(runsUntil(run, runs, 20)) << run.errors();
    const auto all = descendantsOf(run.pid());
    ASSERT_GE(all.size(), 3u); // plate, controller and its guardian
    kill(run.pid(), SIGKILL);
    EXPECT_TRUE(
        waitFor([&] { return std::ranges::none_of(all, [](pid_t one) { return kill(one, 0) == 0; }); }, 20))
        << "a controller goes once the heater was read back off, the plate after it";
    EXPECT_EQ(RunReader(runs).runs().at(0).outcome, Outcome::StoppedByOperator);
}

} // namespace

TEST(CtrlC, TurnsTheHeaterOffReadsItBackAndKeepsTheRun)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    ChildProgram run("stripwright", {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"});
    ASSERT_TRUE(runsUntil(run, runs, wellIntoTheHeat)) << run.errors();
    EXPECT_GT(plate.reading().sensorC, 40);
    const auto controllers = descendantsOf(run.pid());
    ASSERT_GE(controllers.size(), 2u); // The controller and its guardian.

    kill(-run.pid(), SIGINT); // The whole group, as a terminal does.
    EXPECT_EQ(run.exitCode(), 6) << run.errors();
    for (const std::string& said : {std::string("heater off, read back"), std::string("HOT"), runs})
        EXPECT_NE(run.errors().find(said), std::string::npos) << run.errors();
    EXPECT_EQ(plate.reading().duty, 0);
    EXPECT_FALSE(plate.reading().watchdogTripped); // It was told, not left alone.
    EXPECT_TRUE(waitFor([&] { return std::ranges::all_of(controllers, hasEnded); }));

    const auto kept = review(runs, "");
    EXPECT_EQ(kept.at("outcome"), "stopped_by_operator");
    EXPECT_GT(kept.at("samples"), wellIntoTheHeat);
}

TEST(CtrlC, TwiceWhileItCoolsEndsTheRecordOfAHeatThatStaysCompleted)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    ChildProgram run("stripwright", {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"});
    const auto says = [&](const char* words) {
        return waitFor([&] {
            run.say("\n");
            return run.errors().find(words) != std::string::npos || run.exitCode(0);
        });
    };
    ASSERT_TRUE(says("cooling, heater off")) << run.errors();
    kill(-run.pid(), SIGINT);
    ASSERT_TRUE(says("more ends the record here")) << run.errors();
    EXPECT_FALSE(run.exitCode(0)) << "the first key lets the record go on";
    kill(-run.pid(), SIGINT);
    EXPECT_EQ(run.exitCode(), 0) << run.errors();
    EXPECT_NE(run.errors().find("ran to its end by the plan"), std::string::npos) << run.errors();
    EXPECT_EQ(review(runs, "").at("outcome"), "completed");
}

TEST(KilledController, IsCutOffByThePlateAndItsRunStandsAsInterruptedAtTheNextStart)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    std::string key;
    long seen = 0;
    {
        ChildProgram run("stripwright",
                         {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"});
        ASSERT_TRUE(runsUntil(run, runs, wellIntoTheHeat)) << run.errors();
        const auto controllers = descendantsOf(run.pid());
        ASSERT_GE(controllers.size(), 2u); // The controller and its guardian.
        EXPECT_GT(plate.reading().duty, 0);
        for (const int signal : {SIGSTOP, SIGKILL}) // none may act for the others in between
            for (const pid_t controller : controllers)
                kill(controller, signal);
        EXPECT_EQ(run.exitCode(), 1) << run.errors();
        EXPECT_NE(run.errors().find("controller"), std::string::npos) << run.errors();
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

    ChildProgram next("stripwright", {"run", plan, "--runs", runs, "--speed", "20"});
    ASSERT_TRUE(waitFor([&] { return samplesIn(runs) > 0 && RunReader(runs).runs().front().key != key; }))
        << next.errors();
    kill(next.pid(), SIGINT);
    EXPECT_EQ(next.exitCode(), 6) << next.errors();

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
    const ChildProgram::Environment mine = {{"STRIPWRIGHT_RUNNING", folder / "running"}};
    const std::string plan = planOfDemoSheet(folder), runs = folder / "runs.db";
    SimulatedPlateProgram plate(folder, 20);
    ChildProgram run("stripwright", {"run", plan, "--plate", plate.link(), "--runs", runs, "--speed", "20"},
                     mine);
    ASSERT_TRUE(runsUntil(run, runs, 20)) << run.errors();
    kill(run.pid(), SIGKILL); // It alone: its controller has a group of its own.

    ChildProgram running("stripwright", {"running", "--json"}, mine);
    EXPECT_EQ(running.exitCode(), 0) << running.errors();
    const auto found = nlohmann::json::parse(running.output()).at("controllers");
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].at("state"), "running");
    EXPECT_EQ(found[0].at("simulated"), true);

    const std::string process = std::to_string(found[0].at("process").get<int>());
    ChildProgram follow("stripwright", {"follow", process}, mine);
    ASSERT_TRUE(waitFor([&] {
        return !follow.exitCode(0) && follow.errors().find("heating by the plan") != std::string::npos;
    })) << follow.errors();
    kill(-follow.pid(), SIGTSTP);
    EXPECT_EQ(follow.exitCode(), 6) << follow.errors();
    EXPECT_NE(follow.errors().find("heater off, read back"), std::string::npos) << follow.errors();
    EXPECT_EQ(plate.reading().duty, 0);
    EXPECT_EQ(review(runs, RunReader(runs).runs().front().key).at("simulated_hands"), true)
        << "a simulated plate over a link has no strip either";

    ChildProgram stop("stripwright", {"stop"}, mine); // Once more does no harm, and says so.
    EXPECT_EQ(stop.exitCode(), 0) << stop.errors();
    kill(found[0].at("process").get<int>(), SIGTERM);
    EXPECT_TRUE(waitFor([&] { return hasEnded(found[0].at("process").get<int>()); }))
        << "while its plate is there";
}
