#include "demo_sheet.h"

#include "rules/running_temperature.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

BenchSheet litSheet(Seat seat)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.service = Service{.seat = seat};
    return sheet;
}

// By hand with tabulated air at 50 °C (k 0.0280 W/mK, ν 18.2e-6, α 25.9e-6 m²/s): 12 LEDs of 0.5 W, 65 % of
// it heat, are 3.9 W. At 65 °C in air of 35 the 420 x 12 mm lose 0.00504 m² (18.2 x 30 + 230) W/m² = 3.9 W.
TEST(RunningTemperature, InAirBalancesFilmsAndRadiationOfBothFaces)
{
    const auto running = runningTemperature(litSheet(Seat::InAir));
    ASSERT_TRUE(running);
    EXPECT_NEAR(running->stripC, 65, 0.5);
}

// Pad 2.8 x 2.1 mm: 100 µm at 1 W/mK are 17.007 K/W, 80 µm of Sn-Bi at 20 W/mK 0.680; 0.325 W through both.
TEST(RunningTemperature, OfTheJointIsAboveTheStripByOneLedsHeat)
{
    for (const Seat seat : {Seat::InAir, Seat::OnMetal, Seat::InClosedProfile}) {
        const auto running = runningTemperature(litSheet(seat));
        EXPECT_NEAR(running->jointC - running->stripC, 5.748, 0.001);
    }
}

// The 2835's 18 K/W carry 0.325 W.
TEST(RunningTemperature, OfTheJunctionIsAboveTheJointByTheLedsOwnResistance)
{
    BenchSheet sheet = litSheet(Seat::OnMetal);
    const auto running = runningTemperature(sheet);
    ASSERT_TRUE(running->junctionC);
    EXPECT_NEAR(*running->junctionC - running->jointC, 5.85, 1e-9);
    sheet.strip.led.junctionToPadKPerW = 0;
    EXPECT_FALSE(runningTemperature(sheet)->junctionC) << "not stated";
}

// 3.9 W over 0.00504 m² are 773.8 W/m².
TEST(RunningTemperature, OnMetalAndInAProfileFollowsTheStatedConductance)
{
    EXPECT_NEAR(runningTemperature(litSheet(Seat::OnMetal))->stripC, 35 + 773.8 / 300, 0.001);
    EXPECT_NEAR(runningTemperature(litSheet(Seat::InClosedProfile))->stripC, 35 + 773.8 / 26, 0.001);
}

TEST(RunningTemperature, FollowsDriveAndSurroundings)
{
    BenchSheet sheet = litSheet(Seat::OnMetal);
    sheet.service->driveShare = 0.5;
    sheet.service->surroundingsC = 50;
    EXPECT_NEAR(runningTemperature(sheet)->stripC, 50 + 773.8 / 2 / 300, 0.001);
    sheet.service->driveShare = 0;
    sheet.service->seat = Seat::InAir;
    EXPECT_NEAR(runningTemperature(sheet)->jointC, 50, 1e-6);
}

TEST(RunningTemperature, OfBarsLitInARoomIsThatOfSolderPointsInLuminaires)
{
    for (const char* id : {"growbar-420-12", "growbar-600-15", "growbar-900-18", "growbar-1200-24"})
        for (const Seat seat : {Seat::InAir, Seat::InClosedProfile}) {
            BenchSheet sheet = litSheet(seat);
            sheet.service->surroundingsC = 25;
            sheet.strip = *findById(test::shippedShelf().strips, id);
            EXPECT_GT(runningTemperature(sheet)->jointC, 50) << id; // Typically 50 to 90 °C.
            EXPECT_LT(runningTemperature(sheet)->jointC, 90) << id;
        }
}

TEST(RunningTemperature, IsNotGuessedWithoutASeat)
{
    BenchSheet sheet = litSheet(Seat::InAir);
    sheet.service.reset();
    EXPECT_FALSE(runningTemperature(sheet));
}

} // namespace
} // namespace stripwright
