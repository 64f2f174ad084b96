#include "rod.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using namespace test;

// Aluminium 5052.
constexpr double alK = 138, alRhoC = 2680.0 * 880.0;
// PMMA.
constexpr double pmmaK = 0.19, pmmaRhoC = 1180.0 * 1470.0;

TEST(CompositeWall, ChipOnItsSinkSettlesAtThePublishedTemperature)
{
    // Incropera: a chip of 1e4 W/m2 on an epoxy joint of 0.9e-4 m2K/W and 8 mm of aluminium, h 100 to 25 C on
    // both faces.
    HeatNetwork net = Rod{.layers = {{8e-3, 239, alRhoC, 8}}, .rightWPerM2K = 100}.network();
    const int chip = net.addNode(100);
    net.links.push_back({chip, 0, 1 / (0.9e-4 + 0.5e-3 / 239)});
    net.films.push_back({chip, 100});
    net.heaterNode = chip;
    auto solver = solverAt(net, 25);
    run(solver, 0, 20000, {25, 0, 1e4}, 300);
    EXPECT_NEAR(solver.temperaturesC()[chip], 75.30679, 1e-5);
}

TEST(CompositeWall, WarmsAsTheInvertedLaplaceTransform)
{
    // 230 C through 1000 W/m2K, 1 mm 5052, contact 1e4 W/m2K, 2 mm PMMA, 15 W/m2K to 25 C.
    const Layer al{1e-3, alK, alRhoC, 20}, pmma{2e-3, pmmaK, pmmaRhoC, 400};
    auto solver = solverAt(
        Rod{.layers = {al, pmma}, .leftWPerM2K = 1000, .rightWPerM2K = 15, .gapWPerM2K = {1e4}}.network(),
        25);
    struct Row {
        double t, alBottom, alTop, pmmaBottom, pmmaTop;
    };
    double from = 0;
    for (const Row& row :
         {Row{1, 86.79614, 86.15148, 82.68478, 25.00022}, Row{2, 123.5395, 123.0182, 119.2813, 25.09432},
          Row{5, 175.3805, 175.0677, 171.8980, 32.08925}, Row{10, 201.1322, 200.9455, 198.6795, 64.50444},
          Row{30, 220.6795, 220.6155, 219.7809, 158.8186}, Row{60, 226.3171, 226.2909, 225.9381, 193.0691},
          Row{120, 227.3550, 227.3358, 227.0717, 199.3783},
          Row{3000, 227.3819, 227.3629, 227.1011, 199.5418}}) {
        run(solver, from, row.t, {25, 230, 0}, 300);
        from = row.t;
        const auto& t = solver.temperaturesC();
        EXPECT_NEAR(t[0] - 0.5 * (t[1] - t[0]), row.alBottom, 0.01) << row.t;
        EXPECT_NEAR(t[19] + 0.5 * (t[19] - t[18]), row.alTop, 0.01) << row.t;
        EXPECT_NEAR(t[20] - 0.5 * (t[21] - t[20]), row.pmmaBottom, 0.01) << row.t;
        EXPECT_NEAR(t[419] + 0.5 * (t[419] - t[418]), row.pmmaTop, 0.01) << row.t;
    }
    EXPECT_NEAR(solver.heatFromPlateW(230), 2618.128, 1e-2);
}

} // namespace
} // namespace stripwright
