#include "journey.h"

#include "planner/heat_kinds.h"
#include "planner/heat_plan.h"
#include "runlog/run_log.h"

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
        if (limit.station != station || limit.habit || limit.needsHands())
            continue;
        const auto value = measure(limit, {timeS, jointC});
        EXPECT_GE(marginOf(limit, value), 0) << limit.what << ": " << value.value_or(-1);
        ++judged;
    }
    EXPECT_GE(judged, 1);
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
}
