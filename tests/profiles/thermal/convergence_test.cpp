#include "demo_sheet.h"
#include "plain_strip.h"

#include "thermal/predict.h"

#include <cmath>
#include <gtest/gtest.h>
#include <numbers>

namespace stripwright {
namespace {

using namespace test;

double largestDifference(const std::vector<double>& a, const std::vector<double>& b)
{
    double largest = 0;
    for (size_t i = 0; i < a.size(); ++i)
        largest = std::max(largest, std::abs(a[i] - b[i]));
    return largest;
}

double order(const std::vector<double>& coarse, const std::vector<double>& halved,
             const std::vector<double>& reference)
{
    return std::log2(largestDifference(coarse, reference) / largestDifference(halved, reference));
}

/// Core temperatures about a plate whose edges lie a third of a cell off the cells of 8, 4 and 2 mm.
std::vector<double> aboutThePlate(double cellMm, bool settled)
{
    BenchSheet sheet = plainStrip(480, 15, 1.0);
    sheet.air.filmTopWPerM2K = 30;
    sheet.plate.lengthMm = 480 - 2 * (208 + 8 / 3.0);
    sheet.plateStartMm = 208 + 8 / 3.0;
    PredictOptions options;
    options.cellMm = cellMm;
    options.endS = settled ? 6000 : 60;
    options.stepS = options.outputStepS = settled ? 20 : 0.25;
    options.stripXMm = {240, 220, 212, 208, 200, 180, 140};
    const PlateCurve plate = settled ? PlateCurve{{0}, {200}} : PlateCurve{{0, 60}, {25, 200}};
    const Prediction p = predict(sheet, plate, options);
    std::vector<double> values;
    for (const StationCurve& curve : p.stations)
        values.push_back(curve.valueC.back());
    return values;
}

TEST(Convergence, IsOfSecondOrderInSpaceWithThePlatesEdgeInsideACell)
{
    for (bool settled : {true, false}) {
        const std::vector<double> reference = aboutThePlate(0.125, settled), of8 = aboutThePlate(8, settled),
                                  of4 = aboutThePlate(4, settled), of2 = aboutThePlate(2, settled);
        // The edge lies nearer one side of a cell, then the other: the next term changes sign each time.
        const double first = order(of8, of4, reference), second = order(of4, of2, reference);
        EXPECT_NEAR(first, 2, 0.4) << settled;
        EXPECT_NEAR(second, 2, 0.2) << settled;
        EXPECT_NEAR((first + second) / 2, 2, 0.15) << settled;
        EXPECT_LT(largestDifference(of2, reference), 0.1) << settled;
    }
}

/// Every node's temperature three times over a smooth rise and fall of the plate.
std::vector<double> overSmoothDrive(const HeatNetwork& network, double stepS)
{
    auto plateC = [](double t) { return 25 + 107.5 * (1 - std::cos(2 * std::numbers::pi * t / 480)); };
    TransientSolver solver(
        network, Eigen::VectorXd::Constant(static_cast<Eigen::Index>(network.capacityJPerK.size()), 25));
    std::vector<double> values;
    const int steps = static_cast<int>(std::lround(480 / stepS));
    for (int i = 1; i <= steps; ++i) {
        solver.step(stepS, {25, plateC((i - 1) * stepS), 0}, {25, plateC(i * stepS), 0});
        if (i % (steps / 3) == 0)
            values.insert(values.end(), solver.temperaturesC().begin(), solver.temperaturesC().end());
    }
    EXPECT_LT(solver.energy().closure(), 1e-6);
    return values;
}

TEST(Convergence, IsOfSecondOrderInTimeWithRadiationAndRisingCapacityToo)
{
    struct Physics {
        const char* name;
        bool radiates, rises;
    };
    for (const Physics& physics :
         {Physics{"linear", false, false}, Physics{"radiation", true, false}, Physics{"both", true, true}}) {
        BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
        if (!physics.radiates)
            sheet.strip.emissivityTop = sheet.strip.emissivityUnderside = sheet.strip.emissivitySide = 0;
        if (!physics.rises)
            sheet.strip.core.heatCapacitySlopeJPerKgK2 = 0;
        const HeatNetwork network = buildStripModel(sheet, {}).network;
        ASSERT_EQ(network.radiators.empty(), !physics.radiates);
        const std::vector<double> reference = overSmoothDrive(network, 0.05),
                                  of4 = overSmoothDrive(network, 4), of2 = overSmoothDrive(network, 2),
                                  of1 = overSmoothDrive(network, 1);
        EXPECT_NEAR(order(of4, of2, reference), 2, 0.15) << physics.name;
        EXPECT_NEAR(order(of2, of1, reference), 2, 0.15) << physics.name;
    }
}

} // namespace
} // namespace stripwright
