#include "journey.h"

#include "planner/heat_kinds.h"
#include "planner/heat_plan.h"
#include "runlog/run_log.h"

#include <algorithm>
#include <nlohmann/json.hpp>

using namespace stripwright;

namespace {

class DemoJob : public testing::Test {
protected:
    std::filesystem::path file(const std::string& name) const { return folder_ / name; }
    std::string review() const
    {
        ChildProgram program("stripwright", {"review", "--runs", file("runs.db"), "--json"});
        EXPECT_EQ(program.exitCode(), 0) << program.errors();
        return program.output();
    }
    void expectEveryFile(const std::string& out) const;
    void expectTrueJointInEveryWindow() const;
    void expectSimulatedHands(const nlohmann::json& answer) const;

    ScratchFolder folder_;
};

void DemoJob::expectEveryFile(const std::string& out) const
{
    EXPECT_NE(out.find(file("").string()), std::string::npos);
    for (const char* name :
         {"demo.bench.json", "demo.plan.json", "runs.db", "run.csv", "run.png", "review.json"})
        EXPECT_GT(std::filesystem::file_size(file(name)), 100u) << name;
    EXPECT_TRUE(textOf(file("run.png")).starts_with("\x89PNG\r\n"));
    ChildProgram check("stripwright", {"check", file("demo.bench.json"), file("demo.plan.json"),
                                       file("runs.db"), file("run.csv")});
    EXPECT_EQ(check.exitCode(), 0) << check.output();
}

// Counted from the log itself, not from what the program says about it.
void DemoJob::expectTrueJointInEveryWindow() const
{
    const RunReader reader(file("runs.db"));
    const RecordedRun run = reader.read(reader.runs().at(0).key);
    const HeatPlan plan = readHeatPlan(run.planText, "plan");
    const std::string station = "joint_" + std::to_string(plan.sheet.targets().at(0));
    std::vector<double> timeS, jointC;
    for (const Sample& sample : run.samples)
        for (const auto& [name, value] : sample.extra)
            if (name == "truth_" + station + "_C") {
                timeS.push_back(sample.timeS);
                jointC.push_back(value);
            }
    ASSERT_GT(timeS.size(), 1000u);
    int judged = 0;
    for (const Limit& limit : limitsOf(plan.sheet)) {
        if (limit.station.name() != station || limit.habit || limit.needsHands())
            continue;
        const auto value = measure(limit, {timeS, jointC});
        EXPECT_GE(marginOf(limit, value), 0) << limit.what << ": " << value.value_or(-1);
        ++judged;
    }
    EXPECT_GE(judged, 1);
}

// Nobody was there: the run says so, has its cards done in their time, and teaches nothing of hands.
void DemoJob::expectSimulatedHands(const nlohmann::json& answer) const
{
    EXPECT_EQ(answer.at("simulated_hands"), true);
    const RunReader reader(file("runs.db"));
    const RecordedRun run = reader.read(reader.runs().at(0).key);
    const HeatPlan plan = readHeatPlan(run.planText, "plan");
    for (const char* id : {"see-liquid", "swap-led-6"}) {
        const auto card = std::ranges::find(plan.cards, id, &HandCard::id);
        const auto done = std::ranges::find(run.events, "done: " + std::string(id), &Event::text);
        ASSERT_NE(card, plan.cards.end());
        ASSERT_NE(done, run.events.end()) << id;
        const auto sample = std::ranges::lower_bound(run.samples, done->timeS, {}, &Sample::timeS);
        ASSERT_NE(sample, run.samples.end());
        EXPECT_NEAR(sample->profileS, card->untilS, 6) << id;
    }
    ChildProgram learn("stripwright", {"plan", demoSheet, "--hands-from", file("runs.db")});
    EXPECT_EQ(learn.exitCode(), 3);
    EXPECT_NE(learn.errors().find("1 run: on the simulated plate with simulated hands"), std::string::npos)
        << learn.errors();
}

} // namespace

TEST_F(DemoJob, KeepsTheTrueJointInEveryWindowAndReopensWithTheSameMetricsToTheLastDigit)
{
    ChildProgram demo("stripwright", {"--headless", "--out", file("")},
                      {{"DISPLAY", ""}, {"WAYLAND_DISPLAY", ""}});
    ASSERT_EQ(demo.exitCode(240), 0) << demo.errors() << demo.output();
    expectEveryFile(demo.output());
    expectTrueJointInEveryWindow();

    const std::string first = review(), second = review();
    EXPECT_EQ(first, second);
    EXPECT_EQ(first, textOf(file("review.json"))); // Made from the samples as they came from the controller.
    const auto answer = nlohmann::json::parse(first);
    EXPECT_EQ(answer.at("outcome"), "completed");
    EXPECT_EQ(answer.at("every_limit_kept"), true);
    expectSimulatedHands(answer);
}
