#include "search/limit_rows.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

/// 2 K/s up to a stop of 60 s, then 2 K/s up again and straight down.
struct Stopping {
    explicit Stopping(double stopC)
    {
        for (int i = 0; i <= 200; ++i) {
            const double t = 2.0 * i, stopS = stopC / 2;
            timeS.push_back(t);
            valueC.push_back(t < stopS        ? 2 * t
                             : t < stopS + 60 ? stopC
                             : t < 160        ? stopC + 2 * (t - stopS - 60)
                                              : stopC + 2 * (100 - stopS) - (t - 160));
        }
    }
    Curve curve() const { return {timeS, valueC}; }
    std::vector<double> timeS, valueC;
};

TEST(SideMargins, AreOfThePartThatTheLimitIsAbout)
{
    std::vector<double> timeS, valueC; // 1 K/s to 100 °C, then 4 K/s
    for (double c = 20; c < 300; c += c < 100 ? 2 : 8) {
        timeS.push_back(2.0 * static_cast<double>(timeS.size()));
        valueC.push_back(c);
    }
    Limit ramp{.metric = Metric::SteepestRise, .max = 2};
    EXPECT_LT(*sideMargins(ramp, {timeS, valueC}).underMax, 0);
    ramp.untilReachesC = 100;
    EXPECT_NEAR(*sideMargins(ramp, {timeS, valueC}).underMax, 1 / ramp.halfWindow(), 1e-9);
}

TEST(Clearance, CountsWhereACurveStopsNearALevelFromTheSideItIsOn)
{
    const Stopping stop(130); // from 65 s to 125 s
    EXPECT_NEAR(clearance(stop.curve(), 100, {136, false}), 2, 1e-9);
    EXPECT_NEAR(clearance(stop.curve(), 100, {131, false}), -0.5, 1e-9);
    EXPECT_NEAR(clearance(stop.curve(), 124, {131, false}), -0.5, 1e-9); // where the last climb begins
    EXPECT_EQ(clearance(stop.curve(), 100, {131, true}), -1);            // not above it
    EXPECT_NEAR(clearance(stop.curve(), 100, {124, true}), 2, 1e-9);
    EXPECT_EQ(clearance(stop.curve(), 100, {124, false}), -1);
}

TEST(Clearance, DoesNotCountOnTheSteepWayThrough)
{
    const Stopping stop(130);
    EXPECT_EQ(clearance(stop.curve(), 40, {81, false}), -1);
    EXPECT_EQ(clearance(stop.curve(), 40, {79, true}), -1);
}

TEST(Sides, AreEachByItself)
{
    const Stopping stop(130);
    Limit limit{.id = "joint_1/peak", .metric = Metric::Peak, .min = 180, .max = 206};
    const SideMargins sides = sideMargins(limit, stop.curve());
    const double peakC = *std::max_element(stop.valueC.begin(), stop.valueC.end());
    EXPECT_NEAR(sides.overMin.value(), (peakC - 180) / 13, 1e-9);
    EXPECT_NEAR(sides.underMax.value(), (206 - peakC) / 13, 1e-9);
    limit.max = {};
    EXPECT_TRUE(sideMargins(limit, stop.curve()).overMin);
    EXPECT_EQ(sideMargins(limit, stop.curve()).underMax, std::nullopt);
}

TEST(Sides, OfATimeThatNeverBeginsLoseMoreTheFartherOffTheCurveIs)
{
    const Limit limit{
        .id = "joint_1/above_liquidus", .metric = Metric::TimeAbove, .levelC = 250, .min = 30, .max = 90};
    const SideMargins near = sideMargins(limit, Stopping(130).curve());
    Stopping low(130);
    for (double& valueC : low.valueC)
        valueC *= 0.9;
    const SideMargins far = sideMargins(limit, low.curve());
    EXPECT_LT(far.overMin.value(), near.overMin.value() - 0.5);
    EXPECT_EQ(far.underMax.value(), near.underMax.value());
}

TEST(Sides, OfWhatTheHandsNeedAreThoseOfTheLimitAndLoseMoreTheColderTheJoint)
{
    const Limit fit{.id = "joint_1/hands_fit", .metric = Metric::LiquidForHands, .levelC = 180, .min = 35};
    const Stopping stop(130); // through 180 °C at 150 s, at 200 °C from 160 s, through 180 °C again at 180 s
    SiteWork work{.sureFromS = 152};
    const SideMargins sides = sideMargins(fit, stop.curve(), &work);
    EXPECT_EQ(sides.underMax, std::nullopt);
    EXPECT_NEAR(sides.overMin.value(), (180 - 152 - 35) / fit.halfWindow(), 1e-9);

    work.sureFromS.reset();
    Limit hotter = fit;
    hotter.levelC = 205;
    const double near = sideMargins(hotter, stop.curve(), &work).overMin.value();
    hotter.levelC = 225;
    const double far = sideMargins(hotter, stop.curve(), &work).overMin.value();
    EXPECT_LT(near, 0);
    EXPECT_NEAR(near - far, 20 * 0.05, 1e-9);
}

TEST(Sides, OfALimitOfWhichNothingIsAskedAreAsGoodAsCanBe)
{
    const Limit ramp{.id = "body_1/ramp", .metric = Metric::SteepestRise, .max = 1, .onlyIfReachesC = 250};
    const SideMargins sides = sideMargins(ramp, Stopping(130).curve());
    EXPECT_EQ(sides.overMin, std::nullopt);
    EXPECT_EQ(sides.underMax, 1);
    Limit asked = ramp;
    asked.onlyIfReachesC = 150;
    const SideMargins reached = sideMargins(asked, Stopping(130).curve());
    EXPECT_EQ(reached.overMin, std::nullopt);
    EXPECT_NEAR(reached.underMax.value(), (1 - 2) / asked.halfWindow(), 1e-9);
}

TEST(SlopeMargin, IsThatOfOneWindow)
{
    const Stopping stop(130);
    const Limit limit{.id = "joint_1/ramp", .metric = Metric::SteepestRise, .max = 3};
    EXPECT_NEAR(slopeMargin(limit, stop.curve(), 40), (3 - 2) / limit.halfWindow(), 1e-9);
    EXPECT_NEAR(slopeMargin(limit, stop.curve(), 90), 3 / limit.halfWindow(), 1e-9);
    const Limit fall{.id = "joint_1/fall", .metric = Metric::SteepestFall, .max = 6};
    EXPECT_NEAR(slopeMargin(fall, stop.curve(), 180), (6 - 1) / fall.halfWindow(), 1e-9);
}

} // namespace
} // namespace stripwright
