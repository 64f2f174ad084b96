#include "bench/heater_output.h"
#include "bench/own_loop.h"

#include <cmath>
#include <gtest/gtest.h>
#include <vector>

using namespace stripwright;

namespace {

constexpr double stepS = 0.05;

/// Share of each step in which it was on.
struct Trace {
    std::vector<double> shares;

    Trace(HeaterOutput output, double asked, double seconds)
    {
        for (int i = 0; i < std::lround(seconds / stepS); ++i)
            shares.push_back(output.give(asked, stepS));
    }
    double mean() const
    {
        double sum = 0;
        for (const double share : shares)
            sum += share;
        return sum / static_cast<double>(shares.size());
    }
    /// Shortest time it stood at `state`, the first and last stretch left out.
    double shortestS(double state) const
    {
        double shortest = 1e9, stoodS = 0;
        bool whole = false; // its beginning was seen
        for (const double share : shares) {
            const double partS = stepS * (state == 1 ? share : 1 - share);
            if (partS == 0 && stoodS > 0 && whole)
                shortest = std::min(shortest, stoodS);
            whole = whole || partS == 0;
            stoodS = partS == 0 ? 0 : stoodS + partS;
        }
        return shortest;
    }
};

TEST(HeaterOutput, WithoutWindowOrLeastTimeGivesWhatIsAsked)
{
    EXPECT_EQ(Trace(HeaterOutput(0, 0), 0.37, 1).shares, std::vector<double>(20, 0.37));
}

TEST(HeaterOutput, WindowIsOnForItsShareThenOff)
{
    const Trace trace(HeaterOutput(1, 0), 0.3, 20);
    EXPECT_NEAR(trace.mean(), 0.3, 1e-9);
    EXPECT_EQ(trace.shares[0], 1);
    EXPECT_EQ(trace.shares[5], 1);
    EXPECT_EQ(trace.shares[6], 0);
    EXPECT_EQ(trace.shares[20], 1);
    EXPECT_NEAR(trace.shortestS(1), 0.3, 1e-9);
    EXPECT_NEAR(trace.shortestS(0), 0.7, 1e-9);
}

TEST(HeaterOutput, WindowsAsShortAsMainsHalfWavesGiveAnyShareOfAStep)
{
    for (const double share : Trace(HeaterOutput(0.02, 0), 0.37, 1).shares)
        EXPECT_NEAR(share, 0.37, 0.2); // two and a half windows a step
    EXPECT_NEAR(Trace(HeaterOutput(0.02, 0), 0.37, 10).mean(), 0.37, 1e-3);
}

TEST(HeaterOutput, WindowsBeginWithTheFirstHeat)
{
    HeaterOutput output(1, 0);
    for (int i = 0; i < 50; ++i)
        EXPECT_EQ(output.give(0, stepS), 0);
    EXPECT_EQ(output.give(0.5, stepS), 1);
}

TEST(HeaterOutput, WindowKeepsTheShareItBeganWithButEndsAtOnceWithNothingAsked)
{
    HeaterOutput output(1, 0);
    EXPECT_EQ(output.give(0.5, stepS), 1);
    EXPECT_EQ(output.give(0.01, stepS), 1) << "settled when the window began";
    EXPECT_EQ(output.give(0, stepS), 0);
}

TEST(HeaterOutput, RelayStandsItsLeastTimeAndGivesTheMeanAllTheSame)
{
    for (const double windowS : {0.0, 3.0, 10.0})
        for (const double asked : {0.07, 0.3, 0.5, 0.8, 0.97}) {
            const Trace trace(HeaterOutput(windowS, 2), asked, 600);
            EXPECT_GE(trace.shortestS(1), 2 - 1e-9) << asked << " in windows of " << windowS;
            EXPECT_GE(trace.shortestS(0), 2 - 1e-9) << asked << " in windows of " << windowS;
            EXPECT_NEAR(trace.mean(), asked, 0.01) << asked << " in windows of " << windowS;
        }
}

TEST(HeaterOutput, RelayObeysOnAndOffAtOnceWhereItHasStoodLongEnough)
{
    HeaterOutput output(0, 2);
    EXPECT_EQ(output.give(1, stepS), 1);
    double onS = stepS;
    while (output.give(0, stepS) > 0)
        onS += stepS;
    EXPECT_NEAR(onS, 2, 1e-9) << "nothing is asked, but it stands its time";
    double offS = stepS;
    while (output.give(1, stepS) == 0)
        offS += stepS;
    EXPECT_NEAR(offS, 2, 1e-9);
    output.cut();
    EXPECT_EQ(output.give(1, stepS), 0) << "it stands off its time too";
}

// By the law that OwnLoopFigures states, worked out here in closed form for a constant error.
TEST(OwnLoop, IsProportionalAndIntegralWithinItsMostDuty)
{
    OwnLoop loop({.gainPerK = 0.02, .integralS = 40, .mostDuty = 0.6}, 0.1);
    for (int i = 0; i < 101; ++i)
        EXPECT_NEAR(loop.step(110, 100, 0.1), 0.2 * (1 + 0.1 * i / 40), 1e-9);
    OwnLoop bound({.gainPerK = 0.02, .integralS = 40, .mostDuty = 0.6}, 0.1);
    for (int i = 0; i < 1000; ++i)
        EXPECT_EQ(bound.step(140, 100, 0.1), 0.6);
    EXPECT_NEAR(bound.step(105, 100, 0.1), 0.02 * 5, 1e-9) << "the integral stood still at the bound";
    EXPECT_EQ(bound.step(90, 100, 0.1), 0);
}

TEST(OwnLoop, IsWorkedOutOnceInItsSamplePeriodAndAnewAfterARest)
{
    OwnLoop loop({.gainPerK = 0.02, .integralS = 1e5}, 1);
    EXPECT_NEAR(loop.step(110, 100, 0.1), 0.2, 1e-9);
    for (int i = 0; i < 9; ++i)
        EXPECT_NEAR(loop.step(120, 100, 0.1), 0.2, 1e-9);
    EXPECT_NEAR(loop.step(120, 100, 0.1), 0.4, 1e-3);
    loop.rest();
    EXPECT_NEAR(loop.step(105, 100, 0.1), 0.1, 1e-9);
}

// Along a ramp the filtered derivative becomes gain x time x slope.
TEST(OwnLoop, DerivativeBrakesByTheReadingsSlope)
{
    OwnLoop loop({.gainPerK = 0.02, .integralS = 1e5, .derivativeS = 8}, 0.1);
    double duty = 0;
    for (int i = 0; i < 200; ++i)
        duty = loop.step(100 + 0.05 * i + 20, 100 + 0.05 * i, 0.1);
    EXPECT_NEAR(duty, 0.02 * 20 - 0.02 * 8 * 0.5, 1e-3);
    EXPECT_NEAR(loop.step(400, 109.95, 0.1), 1, 1e-9) << "a set-point that moves is no slope";
}

} // namespace
