#include "plain_strip.h"

#include "thermal/predict.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>

namespace stripwright {
namespace {

/// One LED under one lens on a strip that gives and takes heat only where a test says so.
BenchSheet lensAt(double xMm)
{
    BenchSheet sheet = test::plainStrip(200, 12, 1.0);
    sheet.paste.alloy.conductivityWPerMK = 20;
    sheet.paste.alloy.densityKgPerM3 = 8560;
    sheet.paste.alloy.heatCapacityJPerKgK = 170;
    sheet.strip.dielectric = {100, 1.0, 2.0e6, 260};
    sheet.strip.led.lengthMm = 3.5, sheet.strip.led.widthMm = 2.8, sheet.strip.led.heightMm = 0.75;
    sheet.strip.led.padLengthMm = 2.8, sheet.strip.led.padWidthMm = 2.1;
    sheet.strip.siteXMm = {xMm};
    sheet.sites = {{1}};
    Lens lens;
    lens.diameterMm = 15;
    lens.footCount = 3, lens.footCircleMm = 9, lens.footDiameterMm = 1.5, lens.footHeightMm = 1.2;
    lens.conductivityWPerMK = 0.19, lens.volumetricHeatJPerM3K = 1.73e6;
    lens.massG = 0.7, lens.heatCapacityJPerKgK = 1470;
    lens.gapConductanceWPerK = 4.4e-3, lens.toAirWPerK = 8e-3;
    sheet.strip.lens = lens;
    Glue glue;
    glue.thicknessUm = 50, glue.conductivityWPerMK = 0.2;
    sheet.strip.glue = glue;
    return sheet;
}

double settledC(const BenchSheet& sheet, const std::string& station)
{
    PredictOptions options;
    options.endS = 20000;
    options.stepS = options.outputStepS = 20;
    return predict(sheet, {{0}, {80}}, options).find(station)->valueC.back();
}

TEST(Lens, SettlesWhereItsFeetAndAirGapBalanceItsLossToAir)
{
    BenchSheet sheet = lensAt(100);
    sheet.plate.lengthMm = 200;
    sheet.plateStartMm = 0;
    sheet.contact.nominalWPerM2K = 1e7; // the core is at the plate's 80 C all along
    const Lens& lens = *sheet.strip.lens;
    const double feetM2 = 3 * std::numbers::pi / 4 * 1.5e-3 * 1.5e-3;
    const double dielectric = 100e-6 / (1.0 * feetM2), glue = 50e-6 / (0.2 * feetM2),
                 foot = 1.2e-3 / (0.19 * feetM2);
    const double feetWPerK = 1 / (dielectric + glue + foot);
    const double in = feetWPerK + lens.gapConductanceWPerK;
    const double opticC = 25 + 55 * in / (in + lens.toAirWPerK);
    EXPECT_NEAR(settledC(sheet, "lens_1"), opticC, 0.02);
    EXPECT_NEAR(settledC(sheet, "glue_1"), 80 - (80 - opticC) * feetWPerK * (dielectric + glue / 2), 0.02);
}

TEST(Lens, GlueIsWatchedAtTheFeetNearerThePlateOnEitherSide)
{
    // Plate from 70 to 130 mm; LEDs 20 mm off either edge, so that their feet differ by many kelvin.
    auto glueAndCore = [](double xMm, double nearMm, double farMm) {
        BenchSheet sheet = lensAt(xMm);
        sheet.air.filmTopWPerM2K = 60;
        PredictOptions options;
        options.endS = 600;
        options.stripXMm = {nearMm, farMm};
        const Prediction p = predict(sheet, {{0}, {200}}, options);
        return std::array{p.find("glue_1")->valueC.back(), p.stations[p.stations.size() - 2].valueC.back(),
                          p.stations.back().valueC.back()};
    };
    const auto left = glueAndCore(50, 54.5, 45.5), right = glueAndCore(150, 145.5, 154.5);
    EXPECT_NEAR(left[0], right[0], 1e-6);
    for (const auto& [glueC, nearC, farC] : {left, right}) {
        EXPECT_GT(nearC, farC + 5);
        EXPECT_GT(glueC, (nearC + farC) / 2);
        EXPECT_LT(glueC, nearC);
    }
}

TEST(SinkBlock, PassesOnAllThatThePlateGivesOnceItHasSettled)
{
    BenchSheet sheet = test::plainStrip(200, 12, 1.0);
    sheet.sinkBlocks = {{{"b", "block", 20, 60, 1000, 0.4}, 140}};
    StripModelOptions options;
    const StripModel model = buildStripModel(sheet, options);
    const auto nodes = static_cast<Eigen::Index>(model.network.capacityJPerK.size());
    TransientSolver solver(model.network, Eigen::VectorXd::Constant(nodes, 25));
    for (int i = 0; i < 2000; ++i)
        solver.step(10, {25, 150, 0}, {25, 150, 0});
    const double blockC = model.find("block_1")->valueC(solver.temperaturesC());
    EXPECT_GT(blockC, 30);
    EXPECT_NEAR(solver.heatFromPlateW(150), 0.4 * (blockC - 25), 1e-6);
}

TEST(SinkBlock, CoversTheUndersideAndLeavesTheTopToTheAir)
{
    BenchSheet sheet = test::plainStrip(200, 12, 1.0);
    sheet.sinkBlocks = {{{"b", "block", 20, 60, 1000, 1e-9}, 140}};
    StripModelOptions options;
    const auto filmWPerK = [&] {
        double sum = 0;
        for (const auto& film : buildStripModel(sheet, options).network.films)
            sum += film.wPerK;
        return sum;
    };
    sheet.air = {25, 20, 7, 1};
    const double withBlock = filmWPerK();
    sheet.sinkBlocks.clear();
    EXPECT_NEAR(filmWPerK() - withBlock, 7 * 0.020 * 0.012, 1e-8);
}

TEST(SinkBlock, CoolsWhatLiesBeyondIt)
{
    BenchSheet sheet = lensAt(175);
    sheet.air.filmTopWPerM2K = 30;
    const double without = settledC(sheet, "glue_1");
    sheet.sinkBlocks = {{{"b", "block", 20, 60, 1000, 0.4}, 140}};
    EXPECT_LT(settledC(sheet, "glue_1"), without - 3);
}

} // namespace
} // namespace stripwright
