#include "analysis/metrics.h"

#include <cmath>
#include <gtest/gtest.h>
#include <random>

using namespace stripwright;

namespace {

struct Points {
    std::vector<double> timeS, valueC;
    Curve curve() const { return {timeS, valueC}; }
};

// The same line by samples at uneven times; the corners stay.
Points sampledUnevenly(const Points& corners)
{
    std::mt19937 random(7);
    std::uniform_real_distribution<double> gapS(0.03, 1.7);
    Points sampled;
    for (size_t i = 0; i + 1 < corners.timeS.size(); ++i) {
        const double slope =
            (corners.valueC[i + 1] - corners.valueC[i]) / (corners.timeS[i + 1] - corners.timeS[i]);
        for (double t = corners.timeS[i]; t < corners.timeS[i + 1]; t += gapS(random)) {
            sampled.timeS.push_back(t);
            sampled.valueC.push_back(corners.valueC[i] + slope * (t - corners.timeS[i]));
        }
    }
    sampled.timeS.push_back(corners.timeS.back());
    sampled.valueC.push_back(corners.valueC.back());
    return sampled;
}

// Exact metrics of three piecewise linear soldering profiles, worked out by hand from their corners.
struct Profile {
    const char* name;
    Points corners;
    double liquidusC, soakLowC, soakHighC;
    double rampMax, coolMax, soakS, aboveS, near5KS;
};

void PrintTo(const Profile& profile, std::ostream* out)
{
    *out << profile.name;
}

const Profile profiles[] = {
    {"SAC",
     {{0, 100, 190, 225, 235, 275, 335}, {25, 150, 200, 242, 242, 142, 52}},
     217,
     150,
     200,
     1.25,
     2.5,
     90,
     40.83333,
     16.16667},
    {"SnPb",
     {{0, 75, 165, 200, 208, 248}, {25, 100, 150, 215, 215, 115}},
     183,
     100,
     150,
     1.857143,
     2.5,
     90,
     38.03077,
     12.69231},
    {"SnBi",
     {{0, 75, 165, 195, 210, 260}, {25, 100, 135, 172, 172, 97}},
     138,
     100,
     135,
     1.233333,
     1.5,
     90,
     65.23423,
     22.38739},
};

// Half a unit of the last of seven printed digits.
double printed(double value)
{
    return 0.51 * std::pow(10, std::floor(std::log10(value)) - 6);
}

class SolderingProfile : public testing::TestWithParam<Profile> {};

} // namespace

TEST_P(SolderingProfile, HasItsExactMetricsFromCornersAndFromUnevenSamples)
{
    const Profile& p = GetParam();
    for (const Points& points : {p.corners, sampledUnevenly(p.corners)}) {
        const Curve curve = points.curve();
        EXPECT_NEAR(steepestCPerS(curve, 10, +1), p.rampMax, printed(p.rampMax));
        EXPECT_NEAR(steepestCPerS(curve, 10, -1), p.coolMax, printed(p.coolMax));
        EXPECT_NEAR(soakTimeS(curve, p.soakLowC, p.soakHighC).value(), p.soakS, printed(p.soakS));
        EXPECT_NEAR(timeAboveS(curve, p.liquidusC), p.aboveS, printed(p.aboveS));
        const Peak peak = peakOf(curve).value();
        EXPECT_NEAR(timeAboveS(curve, peak.valueC - 5), p.near5KS, printed(p.near5KS));
        const double riseS = peak.atS - firstRiseThrough(curve, p.liquidusC).value();
        EXPECT_NEAR((peak.valueC - p.liquidusC) / riseS,
                    p.rampMax < 1.3 && p.liquidusC > 200 ? 1.2 : p.rampMax, printed(p.rampMax));
        EXPECT_NEAR(meanCoolingCPerS(curve, p.liquidusC).value(), p.coolMax, printed(p.coolMax));
    }
}

INSTANTIATE_TEST_SUITE_P(Metrics, SolderingProfile, testing::ValuesIn(profiles),
                         [](const auto& profile) { return profile.param.name; });

TEST(SteepestSlope, IsTheMeanOverTheWindowWhereASteepPartIsShorterThanIt)
{
    // 4 s at 5 K/s between 1 K/s stretches: (20 + 6) / 10.
    const Points points{{0, 50, 54, 100}, {25, 75, 95, 141}};
    EXPECT_NEAR(steepestCPerS(points.curve(), 10, +1), 2.6, 1e-12);
    EXPECT_NEAR(steepestCPerS(points.curve(), 4, +1), 5.0, 1e-12);
    EXPECT_EQ(steepestCPerS(points.curve(), 10, -1), 0);
}

TEST(SteepestSlope, FindsAWindowThatStartsBetweenSamplesAndEndsOnOne)
{
    // The steep end, 2 s at 4 K/s, is caught only by the window that ends on the last sample: (8 + 8) / 10.
    const Points points{{0, 35, 37}, {20, 55, 63}};
    EXPECT_NEAR(steepestCPerS(points.curve(), 10, +1), 1.6, 1e-12);
}

TEST(SteepestSlope, OfACurveShorterThanTheWindowIsEndToEnd)
{
    const Points points{{0, 2, 5}, {20, 30, 32}};
    EXPECT_NEAR(steepestCPerS(points.curve(), 10, +1), 12.0 / 5, 1e-12);
    EXPECT_EQ(steepestCPerS(Curve{}, 10, +1), 0);
}

TEST(SteepestSlope, OfEvenSamplesIsTheSame)
{
    Points points;
    for (int i = 0; i <= 60; ++i) {
        points.timeS.push_back(2.0 * i);
        points.valueC.push_back(100 + 60 * std::sin(i * i * 0.002));
    }
    for (const int sign : {+1, -1})
        EXPECT_NEAR(steepestCPerS(points.valueC, 2, 10, sign), steepestCPerS(points.curve(), 10, sign),
                    1e-12);
    // A window of two samples and a half: 2.5 * 4 s at 3 K/s, from any sample of the steep part.
    const std::vector<double> steep = {20, 20, 32, 44, 56, 68, 68, 68};
    EXPECT_NEAR(steepestCPerS(steep, 4, 10, +1), 3, 1e-12);
    EXPECT_EQ(steepestCPerS(steep, 4, 10, -1), 0);
    EXPECT_EQ(steepestCPerS(std::vector<double>{20, 90}, 4, 10, +1), 0); // no whole window
}

TEST(SteepestSlope, WithSensorNoiseStaysWithinTheNoiseOverTheWindow)
{
    // Two ends of a window, each within 0.1 K of 1.5 K/s: at most 0.2 K / 10 s off.
    std::mt19937 random(11);
    std::uniform_real_distribution<double> noiseK(-0.1, 0.1);
    Points points;
    for (int i = 0; i <= 500; ++i) {
        points.timeS.push_back(0.2 * i);
        points.valueC.push_back(25 + 1.5 * 0.2 * i + noiseK(random));
    }
    EXPECT_NEAR(steepestCPerS(points.curve(), 10, +1), 1.5, 0.02);
}

TEST(TimeAbove, AddsEveryStayAndCountsTheLevelItself)
{
    const Points points{{0, 10, 20, 30, 40, 50}, {210, 220, 210, 217, 217, 200}};
    // 3 K of 10 K up, 3 K of 10 K down, then 10 s at the level.
    EXPECT_NEAR(timeAboveS(points.curve(), 217), 3 + 3 + 10, 1e-12);
    EXPECT_EQ(timeAboveS(points.curve(), 221), 0);
}

TEST(Soak, RunsToTheEndWhenTheBandIsNeverLeftAndIsNoneWhenNeverEntered)
{
    const Points points{{0, 100, 160}, {25, 125, 140}};
    EXPECT_NEAR(soakTimeS(points.curve(), 100, 150).value(), 160 - 75, 1e-12);
    EXPECT_FALSE(soakTimeS(points.curve(), 150, 200));
}

TEST(Soak, EndsWithTheHeatThatIsBrokenOffInTheBand)
{
    const Points points{{0, 100, 120, 170, 1000}, {25, 125, 140, 90, 30}};
    EXPECT_NEAR(soakTimeS(points.curve(), 100, 150).value(), 160 - 75, 1e-12);
}

TEST(Soak, CountsFromTheFirstEntryThoughTheCurveDipsOut)
{
    const Points points{{0, 10, 20, 40}, {90, 110, 90, 150}};
    EXPECT_NEAR(soakTimeS(points.curve(), 100, 150).value(), 40 - 5, 1e-12);
}

TEST(MeanCooling, StartsWhereAFlatPeakEnds)
{
    const Points points{{0, 20, 50, 75}, {200, 240, 240, 190}};
    EXPECT_NEAR(meanCoolingCPerS(points.curve(), 217).value(), 2.0, 1e-12);
}

TEST(MeanCooling, IsNoneWhenTheCurveNeverFallsBackThroughLiquidus)
{
    const Points rising{{0, 20, 30}, {200, 240, 230}}, below{{0, 20, 60}, {150, 210, 100}};
    EXPECT_FALSE(meanCoolingCPerS(rising.curve(), 217));
    EXPECT_FALSE(meanCoolingCPerS(below.curve(), 217));
}

TEST(RiseThrough, SearchesFromTheGivenTime)
{
    const Points points{{0, 10, 20, 30}, {0, 100, 0, 100}};
    EXPECT_NEAR(firstRiseThrough(points.curve(), 50).value(), 5, 1e-12);
    EXPECT_NEAR(firstRiseThrough(points.curve(), 50, 6).value(), 25, 1e-12);
    EXPECT_FALSE(firstRiseThrough(points.curve(), 50, 26));
}

TEST(FallThrough, IsTheLastOfSeveral)
{
    const Points points{{0, 10, 20, 30}, {100, 0, 100, 0}};
    EXPECT_NEAR(lastFallThrough(points.curve(), 50).value(), 25, 1e-12);
}

TEST(Metrics, OfAnEmptyCurveAreNone)
{
    EXPECT_FALSE(peakOf(Curve{}));
    EXPECT_FALSE(soakTimeS(Curve{}, 100, 150));
    EXPECT_FALSE(meanCoolingCPerS(Curve{}, 217));
    EXPECT_FALSE(firstRiseThrough(Curve{}, 100));
    EXPECT_FALSE(lastFallThrough(Curve{}, 100));
    EXPECT_EQ(timeAboveS(Curve{}, 100), 0);
}
