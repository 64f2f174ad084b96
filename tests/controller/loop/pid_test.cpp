#include "loop/pid.h"
#include "loop/tuning.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {

static const PidGains gains{.kPerK = 0.1, .tiS = 20, .tdS = 4, .setpointWeight = 0.7, .derivativeFilter = 10};
static constexpr double h = 0.2;

TEST(Pid, FollowsItsLawOverUnevenReadings)
{
    Pid pid(gains, h);
    double i = 0, d = 0, last = 0;
    bool first = true;
    for (int n = 0; n < 200; ++n) {
        const double y = 100 + 3 * std::sin(0.1 * n), r = 101, ff = 0.4;
        if (!first)
            d = 4 / (4 + 10 * h) * d - 0.1 * 4 * 10 / (4 + 10 * h) * (y - last);
        const double v = 0.1 * (0.7 * r - y) + i + d + ff;
        const double u = std::min(std::max(v, 0.0), 1.0);
        if (!first)
            i += 0.1 * h / 20 * (r - y) + h / std::sqrt(20 * 4.0) * (u - v);
        EXPECT_NEAR(pid.step(r, y, ff, h), u, 1e-12) << n;
        EXPECT_NEAR(pid.unclipped(), v, 1e-12);
        last = y;
        first = false;
    }
}

TEST(Pid, StepOfTheReferenceGivesNoDerivativeKick)
{
    PidGains withoutD = gains;
    withoutD.tdS = 0;
    Pid pid(gains, h), plain(withoutD, h);
    pid.step(100, 100, 0.5, h), plain.step(100, 100, 0.5, h);
    const double before = pid.unclipped(), plainBefore = plain.unclipped();
    pid.step(101, 100, 0.5, h), plain.step(101, 100, 0.5, h);
    // K b alone; the integral of one step adds 0.1 * 0.2 / 20.
    EXPECT_NEAR(pid.unclipped() - before, 0.1 * 0.7, 1e-9);
    EXPECT_NEAR(plain.unclipped() - plainBefore, 0.1 * 0.7, 1e-9);
}

TEST(Pid, IntegralStopsGrowingWhileDutyIsHeldAtOne)
{
    Pid pid(gains, h);
    for (int n = 0; n < 3000; ++n)
        EXPECT_EQ(pid.step(200, 100, 0.5, h), 1);
    const double settled = pid.unclipped();
    for (int n = 0; n < 1000; ++n)
        pid.step(200, 100, 0.5, h);
    EXPECT_NEAR(pid.unclipped(), settled, 1e-9);
    // Back-calculation: K e/Ti = (v - u)/Tt at rest, so v - 1 = K e Tt/Ti.
    EXPECT_NEAR(settled - 1, 0.1 * 100 * std::sqrt(80.0) / 20, 1e-6);
    int untilOff = 0;
    while (pid.step(100, 101, 0.0, h) >= 1)
        ++untilOff;
    EXPECT_LT(untilOff * h, 20) << "leaves saturation within one integral time";
}

TEST(Pid, GapForgetsTheDerivativeAndSkipsTheIntegral)
{
    Pid pid(gains, h);
    pid.step(100, 100, 0.5, h);
    pid.step(100, 99, 0.5, h);
    const double i = pid.unclipped() - (0.1 * (70 - 99.0) + 0.5); // I + D
    EXPECT_GT(i, 0.1);
    Pid fresh(gains, h);
    fresh.step(100, 100, 0.5, h);
    fresh.step(100, 90, 0.5, 3.1 * h);
    EXPECT_NEAR(fresh.unclipped(), 0.1 * (70 - 90.0) + 0.5, 1e-9)
        << "no D from a reading of long ago, I still 0";
}

TEST(Pid, LongStepCountsAsTwoPeriodsAtMost)
{
    Pid once(gains, h), twice(gains, h);
    once.step(80, 100, 4, h), twice.step(80, 100, 4, h);
    once.step(80, 100, 4, 2 * h), twice.step(80, 100, 4, 2.9 * h);
    once.step(80, 100, 4, h), twice.step(80, 100, 4, h);
    EXPECT_EQ(once.unclipped(), twice.unclipped());
}

TEST(Pid, ActuatorAtItsMostLetsTheIntegralShrinkButNotGrow)
{
    const PidGains slow{.kPerK = 0.05, .tiS = 20};
    Pid free(slow, 0.2), bound(slow, 0.2);
    free.step(100, 95, 0, 0.2);
    bound.step(100, 95, 0, 0.2);
    for (int i = 0; i < 50; ++i) { // 5 K behind for 10 s
        free.step(100, 95, 0, 0.2, false);
        bound.step(100, 95, 0, 0.2, true);
    }
    // I grows by K/Ti times the error: 0.05/20 * 5 K * 10 s.
    EXPECT_NEAR(free.step(100, 100, 0, 0.2) - bound.step(100, 100, 0, 0.2), 0.125, 1e-9);
    const double before = free.step(100, 100, 0, 0.2);
    for (int i = 0; i < 50; ++i)
        free.step(100, 102, 0, 0.2, true);
    EXPECT_LT(free.step(100, 100, 0, 0.2), before);
}

TEST(Pid, TakesOverWithoutAJump)
{
    Pid pid(gains, h);
    for (int n = 0; n < 50; ++n)
        pid.step(100, 95, 0.3, h);
    pid.takeOver(0.42, 100, 95, 0.3);
    EXPECT_NEAR(pid.step(100, 95, 0.3, h), 0.42, 0.01);
}

TEST(Tuning, GivesTheSimcGainsOfARampModel)
{
    const PlateFigures plate{
        .heatCapacityJPerK = 700, .powerW = 900, .elementLagS = 4, .sensorLagS = 2.5, .deadTimeS = 1};
    const PidGains tuned = simcGains(plate);
    const double kc = 1 / (900.0 / 700 * 7), tauI = 28, tauD = 4;
    EXPECT_NEAR(tuned.kPerK, kc * (1 + tauD / tauI), 1e-12);
    EXPECT_NEAR(tuned.tiS, 32, 1e-12);
    EXPECT_NEAR(tuned.tdS, tauI * tauD / 32, 1e-12);
}

TEST(Tuning, PlateWithoutAnyLagStillGetsFiniteGains)
{
    const PidGains tuned = simcGains({.heatCapacityJPerK = 700, .powerW = 900});
    EXPECT_TRUE(std::isfinite(tuned.kPerK));
    EXPECT_EQ(tuned.tdS, 0);
}

} // namespace stripwright
