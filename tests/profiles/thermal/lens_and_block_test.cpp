#include "plain_strip.h"

#include "thermal/predict.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>
#include <numeric>

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
    const double blockC = model.find({StationKind::Block})->valueC(solver.temperaturesC());
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

TEST(SinkBlock, SettlesWhereItsContactBalancesItsLoss)
{
    BenchSheet sheet = test::plainStrip(200, 12, 1.0, 1e6);
    sheet.plate.lengthMm = 200;
    sheet.plateStartMm = 0;
    sheet.contact.nominalWPerM2K = 1e7; // the core is at the plate's 80 C all along
    sheet.sinkBlocks = {{{"b", "block", 20, 60, 1000, 0.4}, 140}};
    const double contactWPerK = 1000 * 0.020 * 0.012;
    EXPECT_NEAR(settledC(sheet, "block_1"), (contactWPerK * 80 + 0.4 * 25) / (contactWPerK + 0.4), 1e-3);
}

TEST(SinkBlock, CoolsWhatLiesBeyondIt)
{
    BenchSheet sheet = lensAt(175);
    sheet.air.filmTopWPerM2K = 30;
    const double without = settledC(sheet, "glue_1");
    sheet.sinkBlocks = {{{"b", "block", 20, 60, 1000, 0.4}, 140}};
    EXPECT_LT(settledC(sheet, "glue_1"), without - 3);
}

TEST(Joint, SettlesBetweenCoreAndBodyByTheResistancesToEither)
{
    BenchSheet sheet = lensAt(100);
    sheet.strip.lens.reset();
    sheet.strip.copper = {35, 390, 3.45e6, false};
    sheet.plate.lengthMm = 200;
    sheet.plateStartMm = 0;
    sheet.contact.nominalWPerM2K = 1e7;
    sheet.air.filmTopWPerM2K = 200;
    const double padM2 = 2.8e-3 * 2.1e-3, bodyM2 = 3.5e-3 * 2.8e-3, halfSolder = 40e-6 / (20 * padM2);
    const double toCore =
        100e-6 / (1.0 * padM2) + 35e-6 / (390 * padM2) + 0.5e-3 / (138 * padM2) + halfSolder;
    // From the solder's middle to that of the uppermost of four lumps of body, the lowest half of it over the
    // pad.
    const double toTop = halfSolder + 0.75e-3 / 8 / (1.0 * padM2) + 3 * 0.75e-3 / 4 / (1.0 * bodyM2);
    const double coreC = settledC(sheet, "dielectric_1"), jointC = settledC(sheet, "joint_1"),
                 topC = settledC(sheet, "body_1");
    const double lossW = 200 * bodyM2 * (topC - 25);
    EXPECT_NEAR(coreC - jointC, lossW * toCore, 1e-3);
    EXPECT_NEAR(jointC - topC, lossW * toTop, 1e-3);
    EXPECT_GT(coreC - jointC, 1);
}

TEST(StripModel, HoldsTheHeatOfEachOfItsPartsOnce)
{
    BenchSheet sheet = lensAt(101.3);
    sheet.sinkBlocks = {{{"b", "block", 20, 60, 1000, 0.4}, 140}};
    sheet.plate.heatCapacityJPerK = 200;
    sheet.plate.elementLagS = 4;
    auto heldJPerK = [&](bool withPlate) {
        StripModelOptions options;
        options.plateIsNode = withPlate;
        const HeatNetwork network = buildStripModel(sheet, options).network;
        return std::accumulate(network.capacityJPerK.begin(), network.capacityJPerK.end(), 0.0);
    };
    const double padM2 = 2.8e-3 * 2.1e-3, stripM2 = 0.2 * 0.012, copperJPerM2K = 35e-6 * 3.45e6;
    const double board = stripM2 * (1e-3 * 2680 * 880 + 100e-6 * 2.0e6);
    const double onBoard = 3.5e-3 * 2.8e-3 * 0.75e-3 * 1.9e6 + padM2 * 80e-6 * 8560 * 170 + 0.7e-3 * 1470 +
                           3 * std::numbers::pi / 4 * 1.5e-3 * 1.5e-3 * 1.2e-3 * 1.73e6;
    sheet.strip.copper = {35, 390, 3.45e6, true};
    EXPECT_NEAR(heldJPerK(false), board + onBoard + 60 + stripM2 * copperJPerM2K, 1e-6);
    sheet.strip.copper.coversStrip = false;
    EXPECT_NEAR(heldJPerK(false), board + onBoard + 60 + padM2 * copperJPerM2K, 1e-6);
    EXPECT_NEAR(heldJPerK(true) - heldJPerK(false), 200, 1e-6);
}

} // namespace
} // namespace stripwright
