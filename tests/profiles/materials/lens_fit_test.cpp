#include "expect_problem.h"
#include "materials/lens_fit.h"

#include <cmath>

namespace stripwright {
namespace {

// A small LED, so that only the strip decides.
StripType stripOf(double widthMm, double footCircleMm, int feet = 3)
{
    StripType strip;
    strip.widthMm = widthMm;
    strip.lengthMm = 300;
    strip.led.lengthMm = strip.led.widthMm = strip.led.padLengthMm = strip.led.padWidthMm = 1;
    strip.lens = Lens{.footCount = feet, .footCircleMm = footCircleMm, .footDiameterMm = 1.5};
    strip.siteXMm = {150};
    return strip;
}

struct Widest {
    double widthMm, anyMm, bestMm;
};

// Foot circles to their printed digits: W = D + d + 2e and W = 0.8660 D + d + 2e with d = 1.5 and e = 0.5.
class FootCircle : public testing::TestWithParam<Widest> {};

TEST_P(FootCircle, IsTheWidestOneThatItsStripHolds)
{
    const auto [widthMm, anyMm, bestMm] = GetParam();
    EXPECT_NEAR(widthAtAnyRotationMm(*stripOf(0, anyMm).lens), widthMm, 1e-9);
    EXPECT_NEAR(widthAtBestRotationMm(*stripOf(0, bestMm).lens), widthMm, 0.005);
    EXPECT_EQ(rotationsThatLand(stripOf(widthMm, anyMm), 1), (Rotations{0, 60}));
    EXPECT_LT(rotationsThatLand(stripOf(widthMm, anyMm + 0.01), 1)->halfWidthDeg, 60);
    EXPECT_TRUE(rotationsThatLand(stripOf(widthMm, bestMm - 0.01), 1));
    EXPECT_FALSE(rotationsThatLand(stripOf(widthMm, bestMm + 0.01), 1));
}
INSTANTIATE_TEST_SUITE_P(Strips, FootCircle,
                         testing::Values(Widest{8, 5.5, 6.35}, Widest{10, 7.5, 8.66}, Widest{12, 9.5, 10.97},
                                         Widest{15, 12.5, 14.43}, Widest{17, 14.5, 16.74},
                                         Widest{20, 17.5, 20.21}));

TEST(LensFit, NeedsTheWidthOfItsWidestPairOfFeetForEveryCountOfThem)
{
    for (int feet = 1; feet <= 12; ++feet) {
        const Lens lens = *stripOf(0, 10, feet).lens;
        EXPECT_TRUE(rotationsThatLand(stripOf(widthAtBestRotationMm(lens), 10, feet), 1)) << feet;
        EXPECT_FALSE(rotationsThatLand(stripOf(widthAtBestRotationMm(lens) - 0.01, 10, feet), 1)) << feet;
    }
}

TEST(LensFit, TurnsAsFarFromItsBestRotationAsTheWidthLets)
{
    // Feet 120° apart reach D/2 cos(30° - turn) to the side.
    const auto range = rotationsThatLand(stripOf(12, 10), 1);
    ASSERT_TRUE(range);
    EXPECT_EQ(range->middleDeg, 0);
    EXPECT_NEAR(range->halfWidthDeg, 30 - std::acos((12 - 2.5) / 10) * 180 / M_PI, 0.25);
}

TEST(LensFit, PutsFourFeetOnTheDiagonals)
{
    const StripType strip = stripOf(10, 10, 4);
    EXPECT_NEAR(widthAtBestRotationMm(*strip.lens), 10 * std::sqrt(0.5) + 2.5, 1e-9);
    EXPECT_NEAR(rotationsThatLand(strip, 1)->middleDeg, 45, 1e-9);
}

TEST(LensFit, TurnsTheLoneFootInwardNearAnEnd)
{
    StripType strip = stripOf(12, 10);
    strip.siteXMm = {4, 296};
    EXPECT_NEAR(rotationsThatLand(strip, 1)->middleDeg, 0, 0.25);
    EXPECT_NEAR(rotationsThatLand(strip, 2)->middleDeg, 60, 0.25);
    EXPECT_TRUE(lensMisfits(strip).empty());
    // Two feet still stand D/4 outward, and D/4 + d/2 + e is 3.75.
    strip.siteXMm = {3.74, 296};
    EXPECT_THAT(lensMisfits(strip),
                testing::ElementsAre("Feet on a circle of 10 mm land at no rotation at site 1, 3.74 mm from "
                                     "the strip's end; 6.25 mm is enough for every rotation."));
}

TEST(LensFit, IsRefusedWithItsFiguresOnANarrowStrip)
{
    EXPECT_THAT(
        lensMisfits(stripOf(12, 15)),
        testing::ElementsAre("Feet on a circle of 15 mm need a strip of 17.5 mm (15.49 mm at the best "
                             "rotation); this one is 12 mm wide."));
}

TEST(LensFit, IsRefusedWhereItsFeetStandOnTheLed)
{
    StripType strip = stripOf(12, 6);
    strip.led.lengthMm = 4, strip.led.widthMm = 3; // 5 mm across its corners, and 2 x 0.5 + 1.5 for the feet.
    EXPECT_EQ(leastFootCircleMm(*strip.lens, strip.led), 7.5);
    EXPECT_THAT(lensMisfits(strip), testing::ElementsAre("Feet on a circle of 6 mm stand on the LED or too "
                                                         "near it: they need a circle of 7.5 mm."));
    strip.led.lengthMm = strip.led.widthMm = 1;
    strip.led.padLengthMm = 4, strip.led.padWidthMm = 3; // The pad counts as the body does.
    EXPECT_EQ(leastFootCircleMm(*strip.lens, strip.led), 7.5);
    strip.lens->footCircleMm = 7.5;
    EXPECT_TRUE(lensMisfits(strip).empty());
}

TEST(LensFit, HoldsForEveryShippedStrip)
{
    size_t lensed = 0;
    for (const StripType& strip : shippedShelf().strips) {
        EXPECT_THAT(lensMisfits(strip), testing::IsEmpty()) << strip.id;
        lensed += strip.lens.has_value();
    }
    EXPECT_GE(lensed, 3u);
}

} // namespace
} // namespace stripwright
