#include "planner/plate_response.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

constexpr double ambientC = 20;

struct Heat {
    std::vector<double> timeS, plateC;
};

/// A ramp of 1 K/s to 200 °C, a hold and a fall.
Heat rampAndHold()
{
    Heat heat;
    for (int t = 0; t <= 500; ++t) {
        heat.timeS.push_back(t);
        heat.plateC.push_back(t < 180 ? ambientC + t : t < 300 ? 200 : 200 - 0.4 * (t - 300));
    }
    return heat;
}

/// One lag behind a curve, by steps so small that their own error does not count.
std::vector<double> lagged(const Heat& heat, const std::vector<double>& driveK, double lagS)
{
    std::vector<double> out = {0};
    double x = 0;
    for (size_t i = 1; i < driveK.size(); ++i) {
        constexpr int parts = 1000;
        const double stepS = (heat.timeS[i] - heat.timeS[i - 1]) / parts;
        for (int n = 0; n < parts; ++n)
            x += stepS / lagS * (std::lerp(driveK[i - 1], driveK[i], (n + 0.5) / parts) - x);
        out.push_back(x);
    }
    return out;
}

std::vector<double> rises(const Heat& heat)
{
    std::vector<double> out;
    for (double plateC : heat.plateC)
        out.push_back(plateC - ambientC);
    return out;
}

std::vector<double> scaled(const std::vector<double>& riseK, double gain)
{
    std::vector<double> out;
    for (double rise : riseK)
        out.push_back(ambientC + gain * rise);
    return out;
}

TEST(PlateResponse, FindsGainAndLagOfABodyBehindOneLag)
{
    const Heat heat = rampAndHold();
    for (double lagS : {1.5, 6.0, 40.0}) {
        const auto fit =
            ResponseFit(heat.timeS, heat.plateC, ambientC).fit(scaled(lagged(heat, rises(heat), lagS), 0.8));
        EXPECT_NEAR(fit.gain, 0.8, 0.005) << lagS;
        const double meanLagS = (1 - fit.secondShare) * fit.lagS + fit.secondShare * fit.secondLagS;
        EXPECT_NEAR(meanLagS, lagS, 0.1 * lagS); // the row of lags stands 17 % apart
        EXPECT_LT(fit.worstErrorK, 0.3);
    }
}

TEST(PlateResponse, TwoLagsInARowNeedBoth)
{
    const Heat heat = rampAndHold();
    const auto slow = scaled(lagged(heat, lagged(heat, rises(heat), 20), 60), 0.4);
    const auto fit = ResponseFit(heat.timeS, heat.plateC, ambientC).fit(slow);
    EXPECT_GT(fit.secondLagS, 0);
    EXPECT_NEAR(fit.gain, 0.4, 0.01);
    // Behind a ramp a row of lags is late by their sum, whatever their order.
    EXPECT_NEAR((1 - fit.secondShare) * fit.lagS + fit.secondShare * fit.secondLagS, 80, 4);
    EXPECT_LT(fit.worstErrorK, 0.5);
}

TEST(PlateResponse, StaysWithOneLagWhereTheSecondAddsNothing)
{
    const Heat heat = rampAndHold();
    const ResponseFit fit(heat.timeS, heat.plateC, ambientC);
    const double rowLagS = 0.5 * std::pow(1.17, 20);
    const PlateResponse one = fit.fit(scaled(lagged(heat, rises(heat), rowLagS), 0.9));
    EXPECT_EQ(one.secondLagS, 0);
    EXPECT_NEAR(one.lagS, rowLagS, 1e-6);
    const PlateResponse none = fit.fit(std::vector<double>(heat.timeS.size(), ambientC));
    EXPECT_EQ(none.gain, 0);
    EXPECT_EQ(none.worstErrorK, 0);
}

// Within its heat a part that follows in an hour is a ramp of any gain: one that can be in truth is taken.
TEST(PlateResponse, TakesNoGainThatNothingOnAPlateCanHave)
{
    const Heat heat = rampAndHold();
    const auto fit =
        ResponseFit(heat.timeS, heat.plateC, ambientC).fit(scaled(lagged(heat, rises(heat), 20000), 20));
    EXPECT_LE(fit.gain, 1.5);
    EXPECT_GT(fit.gain, 0);
    const double peakK = 20 * lagged(heat, rises(heat), 20000).back();
    EXPECT_LT(fit.worstErrorK, 0.1 * peakK);
}

} // namespace
} // namespace stripwright
