#include "plain_strip.h"

#include "thermal/powered_plate.h"
#include "thermal/predict.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using test::plainStrip;

TEST(StripOnPlate, FollowsTheLumpedBodyWhereNothingFlowsAlongIt)
{
    // 1 mm on a plate at 240, contact 500, top 25: T = 25 + 215 h/(h+25) (1 - e^-t/tau).
    BenchSheet sheet = plainStrip(60, 15, 1.0);
    sheet.air.filmTopWPerM2K = 25;
    PredictOptions options;
    options.endS = 20;
    options.stepS = 0.05;
    options.outputStepS = 1;
    options.stripXMm = {30};
    const Prediction p = predict(sheet, {{0}, {240}}, options);
    const std::vector<double>& strip = p.find("strip_30")->valueC;
    // The core's own thickness resists as well: contact 500 in series with a third of 1 mm is 499.4.
    EXPECT_NEAR(strip[2], 98.57399, 0.12);
    EXPECT_NEAR(strip[5], 162.4858, 0.12);
    EXPECT_NEAR(strip[10], 207.6578, 0.12);
    EXPECT_NEAR(strip[20], 227.3758, 0.12);
    EXPECT_LT(p.energy.closure(), 1e-9);
}

TEST(StripPartlyOnPlate, HasTheClosedFormProfile)
{
    // Symmetric, |x| < 30 mm on the plate at 240, contact 500 and top 25, outside 30 in all, air 25. T at
    // distances from the middle.
    struct Row {
        double k, t, hc;
        double expected[8];
    };
    const double x[] = {0, 20, 30, 40, 50, 60, 80, 110};
    for (const Row& row :
         {Row{138,
              1.0,
              500,
              {217.1523, 206.2779, 188.6582, 166.2227, 146.8628, 130.1570, 103.3018, 75.31203}},
          Row{138,
              1.0,
              2000,
              {236.1280, 230.4264, 214.2756, 188.3283, 165.9380, 146.6172, 115.5584, 83.18739}},
          Row{222,
              1.0,
              500,
              {210.7623, 201.0449, 186.6927, 168.9477, 153.1501, 139.0862, 115.4194, 88.79766}},
          Row{138,
              1.5,
              500,
              {211.7848, 201.8685, 187.0553, 168.6747, 152.3788, 137.9313, 113.7664, 86.85856}},
          Row{138,
              1.0,
              120,
              {158.4754, 148.8014, 135.7460, 120.5641, 107.4635, 96.15877, 77.98610, 59.04570}}}) {
        BenchSheet sheet = plainStrip(1600, 15, row.t, row.k);
        // The form knows no resistance across the core; take the model's out of the contact.
        sheet.contact.nominalWPerM2K = 1 / (1 / row.hc - row.t * 1e-3 / 3 / row.k);
        sheet.air.filmTopWPerM2K = 25;
        sheet.air.filmUndersideWPerM2K = 5;
        PredictOptions options;
        options.endS = 6000;
        options.stepS = options.outputStepS = 10;
        options.cellMm = 0.5;
        for (double distance : x)
            options.stripXMm.push_back(800 + distance);
        const Prediction p = predict(sheet, {{0}, {240}}, options);
        for (int i = 0; i < 8; ++i)
            EXPECT_NEAR(p.stations[i].valueC.back(), row.expected[i], 0.02)
                << row.k << " " << row.t << " " << row.hc << " " << x[i];
    }
}

TEST(StripPartlyOnPlate, OverlapOfCellAndPlateIsExact)
{
    // The same strip with the plate's edges in mid-cell and on cell edges must give the same middle.
    auto middle = [](double cellMm) {
        BenchSheet sheet = plainStrip(400, 15, 1.0);
        sheet.air.filmTopWPerM2K = 25;
        sheet.plate.lengthMm = 61;
        sheet.plateStartMm = 169.5;
        PredictOptions options;
        options.endS = 100;
        options.cellMm = cellMm;
        options.stripXMm = {200};
        return predict(sheet, {{0}, {240}}, options).stations[0].valueC.back();
    };
    EXPECT_NEAR(middle(2.0), middle(0.5), 0.1);
}

TEST(StripModel, ErrorFallsWithTheSquareOfTheCell)
{
    auto edge = [](double cellMm) {
        BenchSheet sheet = plainStrip(480, 15, 1.0);
        sheet.air.filmTopWPerM2K = 30;
        PredictOptions options;
        options.endS = 60;
        options.cellMm = cellMm;
        options.stripXMm = {280};
        return predict(sheet, {{0, 60}, {25, 200}}, options).stations[0].valueC.back();
    };
    const double fine = edge(0.25);
    EXPECT_NEAR(std::log2(std::abs(edge(6) - fine) / std::abs(edge(3) - fine)), 2, 0.3);
    EXPECT_NEAR(edge(2), fine, 0.1);
}

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

TEST(PoweredPlate, SensorLagsARampByItsTimeConstant)
{
    // Ramp r, lag tau: the reading trails by r tau (1 - e^(-t/tau)); 1.5 K/s and 5 s: 7.5 K in the end.
    BenchSheet sheet = plainStrip(200, 15, 1.0);
    sheet.plate.heatCapacityJPerK = 200;
    sheet.plate.powerW = 300;
    sheet.plate.sensorLagS = 5;
    PoweredPlate plate(sheet);
    plate.setStripOn(false);
    for (int i = 0; i < 300; ++i)
        plate.advance(0.2, 1.0);
    EXPECT_NEAR(plate.plateC() - plate.sensorC(), 7.5, 0.01);
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
