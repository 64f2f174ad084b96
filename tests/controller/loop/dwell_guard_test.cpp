#include "loop/dwell_guard.h"

#include <cmath>
#include <gtest/gtest.h>
#include <string>

namespace stripwright {
namespace {

using Verdict = DwellGuard::Verdict;

HeatPlan guardedPlan()
{
    HeatPlan plan;
    plan.sheet.heat = HeatKind::Fit; // by a paste's windows
    plan.sheet.paste.countLiquidusC = 217;
    plan.sheet.paste.aboveLiquidusS.max = 60;
    plan.sheet.strip.led.bodyMaxC = 260;
    plan.sheet.plate.elementLagS = 4;
    return plan;
}

bool says(const DwellGuard& guard, const std::string& words)
{
    return std::string(guard.text()).find(words) != std::string::npos;
}

TEST(DwellGuard, EndsTheHeatOneElementLagBeforeTheDwellIsSpent)
{
    const HeatPlan plan = guardedPlan();
    DwellGuard guard(plan);
    EXPECT_EQ(guard.advance(100, 216.9, 0), Verdict::Go);
    double aboveS = 0;
    while (guard.advance(0.5, 230, 0) == Verdict::Go && aboveS < 100)
        aboveS += 0.5;
    EXPECT_NEAR(aboveS + 0.5, 60 - 4, 0.51);
    EXPECT_TRUE(says(guard, "the paste allows 60 s")) << guard.text();
}

/// Of solder nobody knows, which may be liquid for long, and in which an LED is set down at 100 s, 40 s after
/// its joint came to 217 °C.
HeatPlan swapOfUnknownSolder()
{
    HeatPlan plan = guardedPlan();
    plan.sheet.heat = HeatKind::Swap;
    plan.sheet.oldAlloy.reset();
    plan.timeS = {0, 60, 100, 400};
    PlanCurve joint{.station = jointOf(3)};
    joint.lowC = {23, 217, 230, 230};
    joint.nominalC = joint.highC = {23, 240, 250, 250}; // hot earlier: of no consequence
    plan.curves = {joint};
    plan.hands = HandTimes{.sureFromS = 85, .doneS = {100}};
    return plan;
}

TEST(DwellGuard, EndsTheHeatWhenBodiesHaveBeenAbove217ForTooLong)
{
    for (const auto& [plan, mostS] : {std::pair(swapOfUnknownSolder(), 150 + 40), {guardedPlan(), 150}}) {
        HeatPlan longer = plan;
        longer.sheet.paste.aboveLiquidusS.max = 600;
        DwellGuard guard(longer);
        double hotS = 0;
        while (guard.advance(0.5, 230, 0) == Verdict::Go && hotS < 500)
            hotS += 0.5;
        EXPECT_NEAR(hotS + 0.5, mostS - 4, 0.51);
        EXPECT_TRUE(says(guard, "LED bodies allow 150 s")) << guard.text();
    }
}

TEST(DwellGuard, LooksAheadByTheElementsLagAtTheLedBody)
{
    const HeatPlan plan = guardedPlan();
    DwellGuard guard(plan);
    EXPECT_EQ(guard.advance(0.2, 254, 1), Verdict::Go);
    EXPECT_EQ(guard.advance(0.2, 257, 1), Verdict::CapNear); // 257 + 4 s at 1 K/s
    EXPECT_TRUE(says(guard, "LED body limit 260.0")) << guard.text();
    EXPECT_EQ(DwellGuard(plan).advance(0.2, 259, -5), Verdict::Go);
    EXPECT_EQ(DwellGuard(plan).advance(0.2, NAN, 0), Verdict::CapNear) << "no number is no reason to go on";
}

TEST(DwellGuard, EndsTheHeatBeforeAPartPassesItsLimitAndSaysWhich)
{
    const HeatPlan plan = guardedPlan();
    PartModel lens{.station = {StationKind::Lens, 5}, .maxC = 80},
        glue{.station = {StationKind::Glue, 4}, .maxC = 82};
    DwellGuard guard(plan);
    PartEstimate parts[] = {{&lens, 75, 0.2}, {&glue, 78, 0.5}};
    EXPECT_EQ(guard.advance(0.2, 200, 0, parts), Verdict::Go);
    parts[1].hotC = 80.1; // 80.1 + 4 s at 0.5 K/s
    EXPECT_EQ(guard.advance(0.2, 200, 0, parts), Verdict::PartNear);
    EXPECT_TRUE(says(guard, "glue_4 est. 80.1 °C")) << guard.text();
    EXPECT_TRUE(says(guard, "its limit is 82.0 °C")) << guard.text();
    parts[1].hotC = NAN;
    EXPECT_EQ(DwellGuard(plan).advance(0.2, 200, 0, parts), Verdict::PartNear);
}

TEST(DwellGuard, EndsTheHeatOfAPartThatIsNearItsLimitForTooLong)
{
    const HeatPlan plan = guardedPlan();
    const PartModel body{.station = {StationKind::Body, 5}, .maxC = 260, .nearC = 255, .nearMostS = 10};
    DwellGuard guard(plan);
    PartEstimate parts[] = {{&body, 256, 0}};
    double nearS = 0;
    while (guard.advance(0.5, 200, 0, parts) == Verdict::Go && nearS < 100)
        nearS += 0.5;
    EXPECT_NEAR(nearS + 0.5, 10 - 4, 0.51);
    EXPECT_TRUE(says(guard, "body_5")) << guard.text();
}

} // namespace
} // namespace stripwright
