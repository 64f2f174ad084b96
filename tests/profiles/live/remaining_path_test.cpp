#include "demo_sheet.h"

#include "live/remaining_path.h"
#include "planner/plan_sheet.h"

#include <algorithm>
#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

static HeatPlan planAs(HeatKind heat)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.heat = heat;
    return planSheet(sheet);
}

static const HeatPlan& demoPlan()
{
    static const HeatPlan plan = planAs(HeatKind::Fit);
    return plan;
}

static const HeatPlan& swapPlan()
{
    static const HeatPlan plan = planAs(HeatKind::Swap);
    return plan;
}

static double valueAt(const HeatPlan& plan, const std::vector<double>& values, double atS)
{
    const auto after = std::upper_bound(plan.timeS.begin(), plan.timeS.end(), atS);
    const size_t i = static_cast<size_t>(after - plan.timeS.begin());
    return values[i - 1] +
           (values[i] - values[i - 1]) * (atS - plan.timeS[i - 1]) / (plan.timeS[i] - plan.timeS[i - 1]);
}

/// A run that has followed the plan so far, but for a constant distance.
static RunSoFar runUntil(const HeatPlan& plan, double profileS, double offK = 0)
{
    RunSoFar run;
    run.profileS = profileS;
    for (double t = profileS - std::floor(profileS); t <= profileS; ++t) {
        run.timeS.push_back(t);
        run.plateC.push_back(valueAt(plan, plan.plateC, t) + offK);
    }
    return run;
}

static bool never()
{
    return false;
}

static double endOf(const HeatPlan& plan, const std::string& name)
{
    for (const Stage& stage : plan.stages)
        if (stage.name == name)
            return stage.endS;
    ADD_FAILURE() << "no stage " << name;
    return 0;
}

static double soakEndS(const HeatPlan& plan)
{
    return endOf(plan, "soak");
}

/// As the whole model judged the plan, on what a joint's own limits say.
static double worstOfJoints(const HeatPlan& plan)
{
    double planned = INFINITY;
    for (const MarginRow& row : plan.margins)
        if (!row.limit.habit && row.limit.station.kind == StationKind::Joint)
            planned = std::min(planned, row.normalisedMargin);
    return planned;
}

TEST(RemainingPath, RunOnItsPlanIsLeftAlone)
{
    const HeatPlan& plan = demoPlan();
    const RemainingPath path = remainingPath(plan, runUntil(plan, soakEndS(plan)), nullptr, never);
    EXPECT_FALSE(path.better);
    EXPECT_EQ(path.plateC.size(), plan.timeS.size());
    EXPECT_NEAR(path.worstMarginAsIs, worstOfJoints(plan), 0.1);
}

// The hands' seconds are among a swap's limits: judged on the models that a plan carries as on the whole one.
TEST(RemainingPath, SwapOnItsPlanIsLeftAlone)
{
    const HeatPlan& plan = swapPlan();
    ASSERT_TRUE(plan.hands && plan.hands->sureFromS);
    const RemainingPath path = remainingPath(plan, runUntil(plan, endOf(plan, "preheat")), nullptr, never);
    EXPECT_FALSE(path.better);
    EXPECT_LT(worstOfJoints(plan), INFINITY);
    EXPECT_NEAR(path.worstMarginAsIs, worstOfJoints(plan), 0.1);
}

// Joints that get less warm than planned are liquid too briefly for the hands.
TEST(RemainingPath, SwapTooColdForTheHandsGetsTheirTimeBack)
{
    HeatPlan plan = swapPlan();
    plan.margins.clear();
    const RunSoFar run = runUntil(plan, endOf(plan, "preheat"));
    const RemainingPath usual = remainingPath(plan, run, nullptr, never);
    for (JointModel& joint : plan.joints)
        for (JointModel::Fit* fit : {&joint.low, &joint.nominal, &joint.high})
            fit->gain *= 0.95;
    const RemainingPath path = remainingPath(plan, run, nullptr, never);
    EXPECT_LT(path.worstMarginAsIs, usual.worstMarginAsIs - 0.5);
    EXPECT_GT(path.worstMargin, path.worstMarginAsIs + 0.3);
    EXPECT_GT(path.peakShiftK, 1);
}

// Hands that need longer than they were planned with get their time, and the joint is liquid for longer than
// the habit has it: the way is taken, and that is said.
TEST(RemainingPath, SaysWhichTradeHabitsOfThePlanItMisses)
{
    HeatPlan plan = swapPlan();
    plan.sheet.hands.siteS = 70;
    const auto planHad = [&](double margin) {
        for (MarginRow& row : plan.margins)
            if (row.limit.habit)
                row.margin = margin;
    };
    planHad(1);
    const RunSoFar run = runUntil(plan, endOf(plan, "preheat"));
    const RemainingPath path = remainingPath(plan, run, nullptr, never);
    ASSERT_TRUE(path.better) << path.worstMarginAsIs << " to " << path.worstMargin;
    EXPECT_THAT(path.missedHabits, testing::HasSubstr("time liquid in all, site 6"));
    EXPECT_THAT(path.missedHabits, testing::Not(testing::HasSubstr("superheat"))); // kept
    planHad(-1); // missed by the plan already: nothing new
    EXPECT_EQ(remainingPath(plan, run, nullptr, never).missedHabits, "");
}

// A new LED whose body's cap lies below what its joint reaches by the plan.
TEST(RemainingPath, JudgesTheNewLedsThatThePlanSetsDown)
{
    HeatPlan plan = swapPlan();
    const RunSoFar run = runUntil(plan, endOf(plan, "preheat"));
    const RemainingPath usual = remainingPath(plan, run, nullptr, never);
    plan.sheet.strip.led.bodyMaxC = *std::ranges::max_element(plan.newLeds.front().bodyC) - 5;
    const RemainingPath path = remainingPath(plan, run, nullptr, never);
    EXPECT_LT(path.worstMarginAsIs, 0);
    EXPECT_GT(usual.worstMarginAsIs, 0);
}

TEST(RemainingPath, PlateThatCoolsSlowlyGetsAWayThatKeepsMoreMargin)
{
    const HeatPlan& plan = demoPlan();
    RunSoFar run = runUntil(plan, soakEndS(plan));
    run.lossFactor = 0.6;
    const RemainingPath path = remainingPath(plan, run, nullptr, never);
    run.capacityFactor = run.lossFactor = 1;
    const RemainingPath usual = remainingPath(plan, run, nullptr, never);
    EXPECT_LT(path.worstMarginAsIs, usual.worstMarginAsIs - 0.3);
    EXPECT_GT(path.worstMargin, path.worstMarginAsIs + 0.05);
    for (size_t i = 0; i < plan.timeS.size(); ++i) {
        EXPECT_GT(path.pace[i], 0);
        EXPECT_GE(path.duty[i], 0);
        EXPECT_LE(path.duty[i], 1);
        if (plan.timeS[i] < run.profileS) {
            EXPECT_EQ(path.plateC[i], plan.plateC[i]); // what is past stays
        }
        if (plan.timeS[i] >= plan.heaterOffS) {
            EXPECT_EQ(path.duty[i], 0);
        }
    }
}

TEST(RemainingPath, NeverHotterThanTheTripLessEightKelvinAndNeverAMinuteLonger)
{
    HeatPlan plan = demoPlan();
    for (JointModel& joint : plan.joints) // joints that hardly get warm: everything asks for more heat
        for (JointModel::Fit* fit : {&joint.low, &joint.nominal, &joint.high})
            fit->gain *= 0.9;
    plan.margins.clear();
    const RemainingPath path = remainingPath(plan, runUntil(plan, soakEndS(plan)), nullptr, never);
    EXPECT_GT(path.peakShiftK, 1);
    EXPECT_LE(*std::max_element(path.plateC.begin(), path.plateC.end()), plan.tripAboveC - 8 + 1e-9);
    EXPECT_LE(path.longerS, 60);
}

TEST(RemainingPath, ComesBackFromWhereThePlateIsWithoutAStep)
{
    const HeatPlan& plan = demoPlan();
    const RunSoFar run = runUntil(plan, soakEndS(plan), -6);
    const RemainingPath path = remainingPath(plan, run, nullptr, never);
    const double nextS = std::ceil(run.profileS);
    EXPECT_NEAR(valueAt(plan, path.plateC, nextS), valueAt(plan, plan.plateC, nextS) - 6, 1);
}

TEST(RemainingPath, WeakHeaterGetsAPaceThatItsPowerAllows)
{
    const HeatPlan& plan = demoPlan();
    RunSoFar run = runUntil(plan, soakEndS(plan));
    run.capacityFactor = run.lossFactor = 1.6;
    const RemainingPath path = remainingPath(plan, run, nullptr, never);
    EXPECT_LT(*std::min_element(path.pace.begin(), path.pace.end()), 0.95);
    EXPECT_GT(path.longerS, 1);
}

TEST(RemainingPath, StopsLookingWhenItsTimeIsOver)
{
    const HeatPlan& plan = demoPlan();
    RunSoFar run = runUntil(plan, soakEndS(plan));
    run.capacityFactor = 1.3;
    run.lossFactor = 0.7;
    const RemainingPath path = remainingPath(plan, run, nullptr, [] { return true; });
    EXPECT_EQ(path.worstMargin, path.worstMarginAsIs);
    EXPECT_FALSE(path.better);
}

} // namespace stripwright
