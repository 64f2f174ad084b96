#include "demo_sheet.h"
#include "rod.h"

#include "thermal/predict.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using namespace test;

TEST(TransientSolver, TakesUpHeatAlongTheEnthalpyOfARisingCapacity)
{
    // C (theta + s theta^2 / 2) = Q, theta above 25 C.
    constexpr double capacity = 8, slope = 0.43 / 880, watts = 40, seconds = 60;
    HeatNetwork net;
    net.heaterNode = net.addNode(capacity, slope);
    auto solver = solverAt(net, 25);
    for (int i = 0; i < 6; ++i)
        solver.step(seconds / 6, {25, 0, watts}, {25, 0, watts});
    const double heatJ = watts * seconds;
    EXPECT_NEAR(solver.temperaturesC()[0], 25 + (std::sqrt(1 + 2 * slope * heatJ / capacity) - 1) / slope,
                2e-5);
    EXPECT_NEAR(solver.energy().storedJ, heatJ, 1e-4);
}

TEST(TransientSolver, EnergyClosesWithRadiationAndRisingCapacity)
{
    const BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    ASSERT_GT(sheet.strip.core.heatCapacitySlopeJPerKgK2, 0);
    PredictOptions options;
    options.stepS = 1;
    options.endS = 500;
    options.liftAtS = 300;
    const Prediction p = predict(sheet, {{0, 100, 200, 500}, {23, 200, 240, 100}}, options);
    EXPECT_LT(p.energy.closure(), 1e-6);
    EXPECT_GT(p.energy.fromPlateJ, 1000);
}

TEST(TransientSolver, SettlesAtAnyStepAfterAnyJump)
{
    // A light radiator on a weak contact: its slope changes fivefold within one step.
    HeatNetwork net;
    net.addNode(1);
    net.radiators.push_back({0, 0.05});
    net.plateLinks.push_back({0, 0.2});
    auto solver = solverAt(net, 25);
    for (int i = 0; i < 200; ++i)
        solver.step(50, {25, 300, 0}, {25, 300, 0});
    const double kelvin = solver.temperaturesC()[0] + zeroCelsiusK;
    EXPECT_NEAR(0.2 * (300 - solver.temperaturesC()[0]),
                0.05 * stefanBoltzmannWPerM2K4 * (std::pow(kelvin, 4) - std::pow(298.15, 4)), 1e-4);
}

// A heater that goes off 50 microseconds after a step leaves one of that length.
TEST(TransientSolver, SettlesAfterATinyStep)
{
    const BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    const PredictOptions options{.endS = 300, .stepS = 2};
    const auto finalC = [&](double kinkS) {
        std::vector<double> finals;
        for (const StationCurve& curve :
             predict(sheet, {{0, 100, kinkS, 300}, {23, 200, 240, 150}}, options).stations)
            finals.push_back(curve.valueC.back());
        return finals;
    };
    const std::vector<double> expected = finalC(200);
    for (const double laterS : {1e-9, 1e-7, 5e-5, 1e-3, 0.1}) {
        const std::vector<double> after = finalC(200 + laterS);
        for (size_t i = 0; i < expected.size(); ++i)
            EXPECT_NEAR(after[i], expected[i], 0.1) << laterS;
    }
}

TEST(TransientSolver, KeepsCapacitiesThroughAChangeOfConductances)
{
    HeatNetwork net;
    net.addNode(10, 4e-4);
    auto solver = solverAt(net, 100);
    HeatNetwork steady = net, heavier = net;
    steady.capacitySlopePerK[0] = 0;
    heavier.capacityJPerK[0] = 11;
    EXPECT_THROW(solver.replaceConductances(steady), std::invalid_argument);
    EXPECT_THROW(solver.replaceConductances(heavier), std::invalid_argument);
}

TEST(HeatNetwork, FixesCapacitiesAtOneTemperature)
{
    HeatNetwork net;
    net.addNode(10, 4e-4);
    net.fixCapacitiesAt(125);
    EXPECT_DOUBLE_EQ(net.capacityJPerK[0], 10 * 1.04);
    EXPECT_EQ(net.capacitySlopePerK[0], 0);
}

TEST(StripModel, CoreAloneTakesMoreHeatWhenItIsHot)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    auto capacityAt = [&](double temperatureC) {
        HeatNetwork network = buildStripModel(sheet, {}).network;
        network.fixCapacitiesAt(temperatureC);
        return Eigen::Map<const Eigen::VectorXd>(network.capacityJPerK.data(),
                                                 static_cast<Eigen::Index>(network.capacityJPerK.size()))
            .sum();
    };
    const Core& core = sheet.strip.core;
    const double coreKg =
        core.densityKgPerM3 * core.thicknessMm * sheet.strip.widthMm * sheet.strip.lengthMm * 1e-9;
    EXPECT_NEAR(capacityAt(225) - capacityAt(25), coreKg * 0.43 * 200, 1e-9);
}

} // namespace
} // namespace stripwright
