#include "demo_sheet.h"

#include "search/plate_reference.h"
#include "search/unit_response.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

PlateType plate60()
{
    return *findById(test::shippedShelf().plates, "bench-plate-60");
}

TEST(CoastS, GivesTheCoolingTimesOfASmallPlate)
{
    // Own lumped estimate for 60 x 60 x 6 mm: 242 to 217 in 60 s, 172 to 138 in 146 s, with fan 28 and 62 s;
    // the plate's figures were fitted to its coast rates, so a few percent are to be expected.
    EXPECT_NEAR(coastS(plate60(), 242, 217, 25, false), 60, 4);
    EXPECT_NEAR(coastS(plate60(), 172, 138, 25, false), 146, 8);
    EXPECT_NEAR(coastS(plate60(), 242, 217, 25, true), 28, 2);
    EXPECT_NEAR(coastS(plate60(), 172, 138, 25, true), 62, 3);
}

TEST(FollowShape, KeepsToTheShapeWhereThePlateIsStrongEnough)
{
    const Shape shape{1.0, 110, 60, 130, 130, 0, 0.8, 180, 10};
    const PlateReference reference = followShape(shape, plate60(), {4, 0.03}, 23, false, 1, 500, 500);
    // 23 to 110 at 1 K/s takes 87 s, then 60 s to 130; the heat comes the element's 4 s later.
    EXPECT_NEAR(reference.plateC[87 + 4 + 30], 120, 1.5);
    EXPECT_NEAR(reference.plateC[87 + 4 + 60], 130, 1.5);
    EXPECT_NEAR(*std::max_element(reference.plateC.begin(), reference.plateC.end()), 180, 2);
    EXPECT_NEAR((reference.plateC[60] - reference.plateC[30]) / 30, 1.0, 0.1);
}

TEST(FollowShape, WaitsForAPlateThatIsTooWeakInsteadOfCuttingTheSoak)
{
    PlateType weak = plate60();
    weak.powerW = 40;
    const Shape shape{3.0, 110, 60, 130, 130, 0, 3.0, 180, 10};
    const PlateReference reference = followShape(shape, weak, {4, 0.03}, 23, false, 1, 900, 900);
    EXPECT_LE(*std::max_element(reference.duty.begin(), reference.duty.end()), plannedPowerShare + 1e-9);
    EXPECT_NEAR(*std::max_element(reference.plateC.begin(), reference.plateC.end()), 180, 5);
    EXPECT_GT(reference.heaterOffS, 300);
}

TEST(FollowShape, StopsBelowTheSoaksEndBeforeItClimbs)
{
    const Shape shape{1.0, 110, 60, 130, 115, 60, 0.8, 180, 0};
    const PlateReference reference = followShape(shape, plate60(), {4, 0.03}, 23, false, 1, 600, 700);
    // 87 s up, 60 s of soak, 15 s down at the soak ramp, 60 s of stop, as far as the plate cools by itself.
    EXPECT_NEAR(reference.plateC[87 + 60 + 4], 130, 2);
    EXPECT_LT(reference.plateC[87 + 60 + 15 + 60], 122);
    EXPECT_NEAR(*std::max_element(reference.plateC.begin(), reference.plateC.end()), 180, 3);
}

TEST(FollowShape, HeatsNoLongerThanItMay)
{
    const Shape shape{1.0, 110, 60, 130, 130, 0, 0.8, 180, 10};
    const PlateReference reference = followShape(shape, plate60(), {4, 0.03}, 23, false, 1, 100, 400);
    EXPECT_LE(reference.heaterOffS, 100.5);
    for (size_t i = 101; i < reference.duty.size(); ++i)
        EXPECT_EQ(reference.duty[i], 0) << i;
}

TEST(UnitResponse, SumsToTheModelItself)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.strip.emissivityTop = sheet.strip.emissivityUnderside = sheet.strip.emissivitySide = 0;
    sheet.strip.core.heatCapacitySlopeJPerKgK2 = 0;
    const UnitResponse response(sheet, {{hottestJoints, jointOf(6)}, {hottestJoints, {StationKind::Glue, 3}}},
                                2, 400, 90);
    PlateCurve plate;
    for (int i = 0; i <= 200; ++i) {
        plate.timeS.push_back(2 * i);
        plate.plateC.push_back(23 + (i < 80 ? 2.0 * i : 160 * std::exp(-(i - 80) / 60.0)));
    }
    const std::vector<size_t> columns = {0, 1};
    constexpr double heaterOffS = 160;
    const std::vector<double> curves = response.curves(plate.plateC, heaterOffS, 23, columns);
    PredictOptions options;
    options.outputStepS = 2;
    const Scenario scenario = scenariosOf(sheet)[hottestJoints];
    options = optionsIn(scenario, sheet, options);
    options.startC = options.ambientC; // the rest is left to residues
    const Prediction whole = predict(sheet, plateIn(scenario, plate, heaterOffS), options);
    const size_t samples = plate.plateC.size();
    for (size_t column = 0; column < 2; ++column) {
        const StationId station = response.columns()[column].station;
        for (size_t i = 0; i < samples; i += 7)
            EXPECT_NEAR(curves[column * samples + i], whole.find(station)->valueC[i], 0.05)
                << station.name() << " at " << 2 * i;
    }
}

TEST(OwnLoopReach, GrowsWithTheIntegralAndEndsAtTheHighestSetpoint)
{
    PlateType plate = plate60();
    EXPECT_EQ(OwnLoopReach(plate, 180).mostDuty(100, 0, 1), 1);
    plate.ownLoop = {.gainPerK = 0.01, .integralS = 50, .cutAfterS = 3};
    OwnLoopReach reach(plate, 180);
    EXPECT_NEAR(reach.mostDuty(150, 0, 1), 0.01 * (180 + setpointOverPeakK - 150), 1e-12);
    for (int i = 0; i < 50; ++i)
        reach.advance(0.4, 150, 1);
    EXPECT_NEAR(reach.integral(), 0.4 * (1 - std::exp(-1)), 1e-9);
    EXPECT_NEAR(reach.mostDuty(150, 0, 1), 0.45 + reach.integral(), 1e-9);
    plate.ownLoop->cutAfterS.reset();
    EXPECT_NEAR(OwnLoopReach(plate, 180).mostDuty(100, 0.5, 1), 0.01 * (unprovenLeadK + unprovenLeadS * 0.5),
                1e-12);
}

TEST(OwnLoopReach, GoesUpAndDownNoFasterThanARampOfItsOwn)
{
    PlateType plate = plate60();
    plate.ownLoop = {.gainPerK = 0.01, .integralS = 1e5, .cutAfterS = 3, .rampCPerS = 2};
    OwnLoopReach reach(plate, 180);
    EXPECT_NEAR(reach.mostDuty(23, 0, 1), 0.02, 1e-9);
    EXPECT_EQ(reach.leastDuty(23, 1), 0);
    reach.advance(0.3, 100, 1); // by a set-point of 130 C
    EXPECT_NEAR(reach.mostDuty(100, 0, 5), 0.4, 1e-4);
    EXPECT_NEAR(reach.leastDuty(100, 5), 0.2, 1e-4);
    EXPECT_NEAR(reach.mostDuty(170, 0, 1000), 0.01 * (180 + setpointOverPeakK - 170), 1e-4);
}

TEST(FollowShape, ClimbsNoFasterThanThePlatesOwnRamp)
{
    const Shape shape{1.0, 110, 60, 130, 130, 0, 0.8, 180, 10};
    PlateType plate = plate60();
    plate.ownLoop = {.gainPerK = 0.05, .integralS = 45, .cutAfterS = 3, .rampCPerS = 0.4};
    const PlateReference reference = followShape(shape, plate, {4, 0.03}, 23, false, 1, 1500, 1500);
    for (size_t i = 0; i + 10 < reference.plateC.size(); ++i)
        ASSERT_LT(reference.plateC[i + 10] - reference.plateC[i], 10 * 0.5)
            << i; // it catches up where it fell behind
    const double peakC = *std::max_element(reference.plateC.begin(), reference.plateC.end());
    EXPECT_NEAR(peakC, 180, 2);
}

TEST(FollowShape, TakesLongerWhereAPlatesOwnLoopMayNotBeLedFar)
{
    const Shape shape{1.0, 110, 60, 130, 130, 0, 0.8, 180, 10};
    PlateType plate = plate60();
    const auto offS = [&] {
        return followShape(shape, plate, {4, 0.03}, 23, false, 1, 1500, 1500).heaterOffS;
    };
    const double asToldS = offS();
    plate.ownLoop = {.gainPerK = 0.02, .integralS = 90, .cutAfterS = 3};
    EXPECT_NEAR(offS(), asToldS, 5);
    plate.ownLoop->cutAfterS.reset();
    EXPECT_GT(offS(), asToldS + 60);
    EXPECT_LT(offS(), 1500);
    EXPECT_GT(shortestClimbS(plate, 180, 23), 157 / strongestRampCPerS(plate, {}, 100, 23));
}

TEST(LeftAloneAtMostC, IsFullHeatUntilTheCutOrTheSetpointAndBeyond)
{
    const Shape shape{1.0, 110, 60, 130, 130, 0, 0.8, 180, 10};
    PlateType plate = plate60();
    plate.ownLoop = {.gainPerK = 0.05, .integralS = 45, .cutAfterS = 3};
    const PlateReference reference = followShape(shape, plate, {4, 0.03}, 23, false, 1, 1500, 1500);
    const double peakC = *std::max_element(reference.plateC.begin(), reference.plateC.end());
    const double after3S = leftAloneAtMostC(reference, plate, 23);
    EXPECT_GE(after3S, peakC);
    // All the power for that time, and what then stands in the element.
    EXPECT_LE(after3S, peakC + plate.powerW / plate.heatCapacityJPerK * (3 + plate.elementLagS));
    plate.ownLoop->cutAfterS = 20;
    EXPECT_GT(leftAloneAtMostC(reference, plate, 23), after3S + 2);
    plate.ownLoop->cutAfterS.reset();
    EXPECT_GE(leftAloneAtMostC(reference, plate, 23), peakC + unprovenLeadK - 1);
}

} // namespace
} // namespace stripwright
