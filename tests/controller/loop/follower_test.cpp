#include "loop/follower.h"
#include "loop/stretch_limit.h"
#include "reference_plate.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {

static HeatPlan rampPlan(double rampCPerS)
{
    HeatPlan plan;
    plan.sheet.plate = referencePlateType();
    plan.sheet.air.ambientC = 25;
    for (int t = 0; t <= 100; ++t) {
        plan.timeS.push_back(t);
        plan.plateC.push_back(25 + rampCPerS * t);
        plan.duty.push_back(t / 100.0);
    }
    plan.heaterOffS = 100;
    return plan;
}

TEST(Follower, ExpectsTheReadingBehindTheReferenceBySensorLagAndDeadTime)
{
    const HeatPlan plan = rampPlan(0.8);
    Follower follower(plan, figuresOf(referencePlateType(), 25));
    for (int n = 1; n <= 300; ++n) {
        follower.advance(0.2, 1);
        const double t = std::max(0.2 * n - 1, 0.0);
        // Response of 2.5 s first-order lag to a ramp of 0.8 K/s that begins after 1 s.
        EXPECT_NEAR(follower.expectedC(), 25 + 0.8 * (t - 2.5 * (1 - std::exp(-t / 2.5))), 1e-9) << n;
    }
    EXPECT_NEAR(follower.expectedSlopeCPerS(), 0.8, 1e-6);
    EXPECT_NEAR(follower.referenceC() - follower.expectedC(), 0.8 * 3.5, 1e-6);
}

TEST(Follower, HoldsFeedForwardFromEachTimeOfThePlanToTheNext)
{
    const HeatPlan plan = rampPlan(0.8);
    Follower follower(plan, figuresOf(referencePlateType(), 25));
    EXPECT_EQ(follower.feedForward(), 0.0);
    for (int n = 0; n < 102; ++n)
        follower.advance(0.2, 1);
    EXPECT_NEAR(follower.profileS(), 20.4, 1e-9);
    EXPECT_EQ(follower.feedForward(), 0.20);
}

TEST(Follower, FrozenProfileStandsStillAndTheExpectedReadingComesToTheReference)
{
    const HeatPlan plan = rampPlan(0.8);
    Follower follower(plan, figuresOf(referencePlateType(), 25));
    for (int n = 0; n < 100; ++n)
        follower.advance(0.2, 1);
    for (int n = 0; n < 200; ++n)
        follower.advance(0.2, 0);
    EXPECT_NEAR(follower.profileS(), 20, 1e-9);
    EXPECT_NEAR(follower.stretchedS(), 40, 1e-9);
    EXPECT_NEAR(follower.expectedC(), follower.referenceC(), 1e-5);
}

TEST(StretchLimit, AllowsSixtySecondsAndTwentyInReflow)
{
    StretchLimit limit;
    EXPECT_FALSE(limit.exceeded(Phase::Preheat, 60));
    EXPECT_TRUE(limit.exceeded(Phase::Preheat, 0.2));
    EXPECT_FALSE(limit.exceeded(Phase::Reflow, 20));
    EXPECT_TRUE(limit.exceeded(Phase::Reflow, 0.2));
}

TEST(StretchLimit, PhaseComesFromTheStageAndIsPreheatWhereNoneIsNamed)
{
    HeatPlan plan = referencePlan();
    EXPECT_EQ(phaseAt(plan, 10), Phase::Preheat);
    EXPECT_EQ(phaseAt(plan, 200), Phase::Soak);
    EXPECT_EQ(phaseAt(plan, 300), Phase::Reflow);
    EXPECT_EQ(phaseAt(plan, 400), Phase::Cooling);
    plan.stages.clear();
    EXPECT_EQ(phaseAt(plan, 300), Phase::Preheat);
    plan.heaterOffS = std::nan("");
    EXPECT_EQ(phaseAt(plan, 0), Phase::Cooling);
}

} // namespace stripwright
