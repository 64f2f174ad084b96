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
    std::vector<double> margins;
    addSides(limit, stop.curve(), nullptr, margins);
    ASSERT_EQ(margins.size(), sidesOf(limit));
    const double peakC = *std::max_element(stop.valueC.begin(), stop.valueC.end());
    EXPECT_NEAR(margins[0], (peakC - 180) / 13, 1e-9);
    EXPECT_NEAR(margins[1], (206 - peakC) / 13, 1e-9);
    limit.max = {};
    margins.clear();
    addSides(limit, stop.curve(), nullptr, margins);
    EXPECT_EQ(margins.size(), 1u);
}

TEST(Sides, OfATimeThatNeverBeginsLoseMoreTheFartherOffTheCurveIs)
{
    const Limit limit{
        .id = "joint_1/above_liquidus", .metric = Metric::TimeAbove, .levelC = 250, .min = 30, .max = 90};
    std::vector<double> near, far;
    addSides(limit, Stopping(130).curve(), nullptr, near);
    Stopping low(130);
    for (double& valueC : low.valueC)
        valueC *= 0.9;
    addSides(limit, low.curve(), nullptr, far);
    EXPECT_LT(far[0], near[0] - 0.5);
    EXPECT_EQ(far[1], near[1]);
}

TEST(Sides, OfWhatTheHandsNeedAreThoseOfTheLimitAndLoseMoreTheColderTheJoint)
{
    const Limit fit{.id = "joint_1/hands_fit", .metric = Metric::LiquidForHands, .levelC = 180, .min = 35};
    const Stopping stop(130); // through 180 °C at 150 s, at 200 °C from 160 s, through 180 °C again at 180 s
    SiteWork work{.sureFromS = 152};
    std::vector<double> margins;
    addSides(fit, stop.curve(), &work, margins);
    ASSERT_EQ(margins.size(), 1u);
    EXPECT_NEAR(margins[0], (180 - 152 - 35) / fit.halfWindow(), 1e-9);

    work.sureFromS.reset();
    std::vector<double> near, far;
    Limit hotter = fit;
    hotter.levelC = 205;
    addSides(hotter, stop.curve(), &work, near);
    hotter.levelC = 225;
    addSides(hotter, stop.curve(), &work, far);
    EXPECT_LT(near[0], 0);
    EXPECT_NEAR(near[0] - far[0], 20 * 0.05, 1e-9);
}

TEST(Sides, OfALimitOfWhichNothingIsAskedAreAsGoodAsCanBe)
{
    const Limit ramp{.id = "body_1/ramp", .metric = Metric::SteepestRise, .max = 1, .onlyIfReachesC = 250};
    std::vector<double> margins;
    addSides(ramp, Stopping(130).curve(), nullptr, margins);
    EXPECT_EQ(margins, std::vector<double>{1});
    Limit asked = ramp;
    asked.onlyIfReachesC = 150;
    margins.clear();
    addSides(asked, Stopping(130).curve(), nullptr, margins);
    ASSERT_EQ(margins.size(), 1u);
    EXPECT_NEAR(margins[0], (1 - 2) / asked.halfWindow(), 1e-9);
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
