#include "plain_strip.h"
#include "rod.h"

#include "thermal/predict.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using namespace test;

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

TEST(StripPartlyOnPlate, StaysBelowThePlateTheShorterItIs)
{
    // The same closed form, k 138, 1 mm, contact 500, at the middle and the edge of a plate of half-length a.
    struct Row {
        double aMm, centreC, edgeC;
    };
    for (const Row& row :
         {Row{10, 177.8354, 167.6409}, Row{15, 195.0919, 179.1644}, Row{30, 217.1523, 188.6582},
          Row{50, 226.1405, 190.1240}, Row{100, 229.5963, 190.2575}}) {
        BenchSheet sheet = plainStrip(1600, 15, 1.0);
        sheet.plate.lengthMm = 2 * row.aMm;
        sheet.plateStartMm = 800 - row.aMm;
        sheet.contact.nominalWPerM2K = 1 / (1 / 500.0 - 1e-3 / 3 / 138);
        sheet.air.filmTopWPerM2K = 25;
        sheet.air.filmUndersideWPerM2K = 5;
        PredictOptions options;
        options.endS = 6000;
        options.stepS = options.outputStepS = 10;
        options.cellMm = 0.5;
        options.stripXMm = {800, 800 + row.aMm};
        const Prediction p = predict(sheet, {{0}, {240}}, options);
        EXPECT_NEAR(p.stations[0].valueC.back(), row.centreC, 0.02) << row.aMm;
        EXPECT_NEAR(p.stations[1].valueC.back(), row.edgeC, 0.02) << row.aMm;
    }
}

TEST(StripPartlyOnPlate, WarmsOutsideAsTheClosedFormOfAStep)
{
    // theta = 1/2 [e^-mx erfc(xi - m sqrt(alpha t)) + e^mx erfc(xi + m sqrt(alpha t))] from a base stepped to
    // 230, films 30 in all, k 138, 1 mm.
    const Layer layer{0.9, 138, 2680.0 * 880.0, 1800};
    auto solver = solverAt(
        Rod{.layers = {layer}, .areaM2 = 1e-3, .leftWPerM2K = HUGE_VAL, .sideFilmWPerM = 30}.network(), 25);
    struct Row {
        double t, at10, at20, at30, at50, at80;
    };
    double from = 0;
    for (const Row& row : {Row{15, 186.1083, 147.4899, 114.7816, 67.72379, 35.02507},
                           Row{30, 194.6681, 163.5579, 136.4743, 93.60711, 53.69155},
                           Row{60, 199.3583, 172.6424, 149.3934, 111.7732, 72.98436},
                           Row{120, 201.3352, 176.5320, 155.0711, 120.4479, 84.22542},
                           Row{240, 201.8435, 177.5401, 156.5620, 122.8233, 87.63109},
                           Row{6000, 201.8971, 177.6467, 156.7207, 123.0816, 88.02140}}) {
        run(solver, from, row.t, {25, 230, 0}, 400);
        from = row.t;
        EXPECT_NEAR(at(solver, layer, 0.010), row.at10, 2e-3) << row.t;
        EXPECT_NEAR(at(solver, layer, 0.020), row.at20, 2e-3) << row.t;
        EXPECT_NEAR(at(solver, layer, 0.030), row.at30, 2e-3) << row.t;
        EXPECT_NEAR(at(solver, layer, 0.050), row.at50, 2e-3) << row.t;
        EXPECT_NEAR(at(solver, layer, 0.080), row.at80, 2e-3) << row.t;
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

TEST(StripPartlyOnPlate, HasItsJointsAsWarmAsTheCoreAtTheirMiddleWhereverTheirCellsLie)
{
    // Nothing leaves through the body: settled, a joint has the temperature of the core under its middle, but
    // for hundredths of a kelvin by which its profile curves over pad and cells. There it falls by 2 K a mm.
    for (double siteMm : {227.5, 228.0, 228.3, 229.0, 229.6}) {
        BenchSheet sheet = plainStrip(420, 12, 1.0);
        sheet.plateStartMm = 162.5;
        sheet.air.filmUndersideWPerM2K = 30;
        sheet.strip.siteXMm = {siteMm};
        sheet.sites = {{1}};
        sheet.strip.led.lengthMm = sheet.strip.led.padLengthMm = 2.8;
        sheet.strip.led.widthMm = sheet.strip.led.padWidthMm = 2.1;
        sheet.strip.led.heightMm = 0.75;
        sheet.paste.alloy = {.densityKgPerM3 = 8000, .heatCapacityJPerKgK = 200, .conductivityWPerMK = 20};
        PredictOptions options;
        options.endS = 6000;
        options.stepS = options.outputStepS = 20;
        options.stripXMm = {siteMm};
        const Prediction p = predict(sheet, {{0}, {240}}, options);
        EXPECT_NEAR(p.find("joint_1")->valueC.back() - p.stations.back().valueC.back(), 0, 0.1) << siteMm;
    }
}

} // namespace
} // namespace stripwright
