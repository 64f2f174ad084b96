#include "plain_strip.h"

#include "thermal/powered_plate.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

using test::plainStrip;

TEST(PoweredPlate, HeatsAlongTheExponentialOfItsLosses)
{
    // C 194.4 J/K, 300 W, 0.27 W/K: T = 25 + (P/UA)(1 - e^(-t/720)).
    BenchSheet sheet = plainStrip(200, 15, 1.0);
    sheet.plate.heatCapacityJPerK = 194.4;
    sheet.plate.powerW = 300;
    sheet.plate.lossWPerK = 0.27;
    PoweredPlate plate(sheet);
    plate.setStripOn(false);
    const double times[] = {10, 30, 60, 120, 180},
                 expected[] = {40.32543, 70.34505, 113.8395, 195.5759, 270.7769};
    double t = 0;
    for (int i = 0; i < 5; ++i) {
        for (; t < times[i] - 1e-9; t += 0.5)
            plate.advance(0.5, 1.0);
        EXPECT_NEAR(plate.plateC(), expected[i], 1e-3) << times[i];
    }
    EXPECT_LT(plate.energy().closure(), 1e-9);
}

/// A bare plate without losses after a minute of power for 1.5 K/s.
PoweredPlate ramped(double sensorLagS, double elementLagS)
{
    BenchSheet sheet = plainStrip(200, 15, 1.0);
    sheet.plate.heatCapacityJPerK = 200;
    sheet.plate.powerW = 300;
    sheet.plate.sensorLagS = sensorLagS;
    sheet.plate.elementLagS = elementLagS;
    PoweredPlate plate(sheet);
    plate.setStripOn(false);
    for (int i = 0; i < 300; ++i)
        plate.advance(0.2, 1.0);
    return plate;
}

TEST(PoweredPlate, SensorLagsARampByItsTimeConstant)
{
    // Ramp r, lag tau: the reading trails by r tau (1 - e^(-t/tau)); 1.5 K/s and 5 s: 7.5 K in the end.
    const PoweredPlate plate = ramped(5, 0);
    EXPECT_NEAR(plate.plateC() - plate.sensorC(), 7.5, 0.01);
}

TEST(PoweredPlate, ElementHoldsBackARampByItsLag)
{
    // A twentieth of the plate is the element, ahead of the body by what the body's share of the ramp needs:
    // the body trails power times time by r tau (1 - 1/20); 1.5 K/s and 4 s: 5.7 K.
    EXPECT_NEAR(25 + 1.5 * 60 - ramped(0, 4).plateC(), 5.7, 0.01);
}

/// Where a plate under a strip that it holds at its own temperature settles.
double settledPlateC(const BenchSheet& sheet, bool fan)
{
    PoweredPlate plate(sheet);
    plate.setFan(fan);
    for (int i = 0; i < 4000; ++i)
        plate.advance(5, 1.0);
    return plate.plateC();
}

TEST(PoweredPlate, SettlesWhereLossRadiationAndFanTakeItsPower)
{
    BenchSheet sheet = plainStrip(60, 20, 1.0, 1e6);
    sheet.contact.nominalWPerM2K = 1e7;
    sheet.plate.heatCapacityJPerK = 200;
    sheet.plate.lossWPerK = 0.3;
    sheet.plate.radiatingAreaM2 = 0.02;
    sheet.plate.powerW = 0.3 * 175 + 0.02 * stefanBoltzmannWPerM2K4 *
                                         (std::pow(200 + zeroCelsiusK, 4) - std::pow(25 + zeroCelsiusK, 4));
    EXPECT_NEAR(settledPlateC(sheet, false), 200, 1e-3);
    // The strip takes over the fan's air where it covers the plate, a third of it here.
    sheet.plate.fanLossWPerK = 0.5;
    sheet.plate.powerW += 0.5 * 175;
    EXPECT_NEAR(settledPlateC(sheet, true), 200, 0.01);
}

TEST(PoweredPlate, EnergyClosesWithStripFanAndLift)
{
    BenchSheet sheet = plainStrip(300, 12, 1.0);
    sheet.air = {23, 12, 8, 10};
    sheet.strip.emissivityTop = 0.9;
    sheet.plate.heatCapacityJPerK = 52;
    sheet.plate.powerW = 150;
    sheet.plate.lossWPerK = 0.07;
    sheet.plate.radiatingAreaM2 = 0.0025;
    sheet.plate.fanLossWPerK = 0.12;
    sheet.plate.elementLagS = 4;
    sheet.plate.sensorLagS = 2.5;
    PoweredPlate plate(sheet);
    for (int i = 0; i < 400; ++i)
        plate.advance(0.25, 0.8);
    const double hot = plate.plateC();
    plate.setFan(true);
    for (int i = 0; i < 200; ++i)
        plate.advance(0.25, 0);
    plate.setStripOn(false);
    for (int i = 0; i < 200; ++i)
        plate.advance(0.25, 0);
    EXPECT_LT(plate.plateC(), hot - 20);
    EXPECT_LT(plate.energy().closure(), 1e-6);
    EXPECT_GT(plate.energy().fromHeaterJ, 10000);
}

} // namespace
} // namespace stripwright
