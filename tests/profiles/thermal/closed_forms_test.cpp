#include "rod.h"

#include "thermal/powered_plate.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using namespace test;

// Aluminium 5052.
constexpr double alK = 138, alRhoC = 2680.0 * 880.0;
// PMMA.
constexpr double pmmaK = 0.19, pmmaRhoC = 1180.0 * 1470.0;

TEST(SemiInfiniteSolid, WarmsByTheErrorFunctionAfterASurfaceStep)
{
    // T = Ts + (Ti - Ts) erf(x / 2 sqrt(alpha t)), Carslaw & Jaeger.
    const Layer layer{1.2, alK, alRhoC, 1200};
    auto solver = solverAt(Rod{.layers = {layer}, .leftWPerM2K = HUGE_VAL}.network(), 25);
    const double times[] = {10, 30, 60, 120};
    const double at20[] = {139.5527, 175.8207, 191.3282, 202.5255},
                 at50[] = {54.49025, 106.7448, 137.8965, 162.9816},
                 at100[] = {25.71030, 43.75137, 72.70776, 106.7448};
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 230, 0}, 400);
        from = times[i];
        EXPECT_NEAR(at(solver, layer, 0.020), at20[i], 0.02) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.050), at50[i], 0.02) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.100), at100[i], 0.02) << times[i];
    }
    EXPECT_LT(solver.energy().closure(), 1e-10);
}

TEST(SemiInfiniteSolid, LensFootWarmsByTheSameLaw)
{
    const Layer layer{0.02, pmmaK, pmmaRhoC, 800};
    auto solver = solverAt(Rod{.layers = {layer}, .leftWPerM2K = HUGE_VAL}.network(), 25);
    const double times[] = {5, 10, 30, 60};
    const double half[] = {154.7310, 175.7782, 198.2996, 207.5135},
                 three[] = {25.85097, 33.74820, 74.59183, 108.6337};
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 230, 0}, 400);
        from = times[i];
        EXPECT_NEAR(at(solver, layer, 0.0005), half[i], 0.03) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.003), three[i], 0.03) << times[i];
    }
}

TEST(SemiInfiniteSolid, WarmsThroughAFilmAsThePublishedSolution)
{
    // h 500 to 230 C; theta = erfc(xi) - exp(hx/k + h2 alpha t/k2) erfc(xi + h sqrt(alpha t)/k).
    const Layer layer{1.2, alK, alRhoC, 1200};
    auto solver = solverAt(Rod{.layers = {layer}, .leftWPerM2K = 500}.network(), 25);
    const double times[] = {5, 10, 30, 60};
    const double surface[] = {38.58349, 43.79697, 55.88041, 66.54500},
                 at20[] = {28.95314, 33.25622, 44.82517, 55.70321};
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 230, 0}, 300);
        from = times[i];
        EXPECT_NEAR(at(solver, layer, 0), surface[i], 0.01) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.020), at20[i], 0.01) << times[i];
    }
}

TEST(SemiInfiniteSolid, WarmsUnderAConstantFlux)
{
    const Layer layer{1.2, alK, alRhoC, 1200};
    HeatNetwork net = Rod{.layers = {layer}}.network();
    net.heaterNode = 0;
    auto solver = solverAt(net, 25);
    const double times[] = {5, 10, 30, 60};
    const double at20[] = {25.80375, 26.71470, 29.33978, 32.06589},
                 surface[] = {27.79719, 28.95582, 31.85169, 34.68975};
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 0, 20e3}, 300);
        from = times[i];
        EXPECT_NEAR(at(solver, layer, 0.020), at20[i], 0.002) << times[i];
        const double overHalfCell = 20e3 * 0.0005 / alK;
        EXPECT_NEAR(solver.temperaturesC()[0] + overHalfCell, surface[i], 0.01) << times[i];
    }
}

TEST(Slab, CoolsAsTheExactSeries)
{
    // Half a slab of unit thickness, k and rho c, so that h = Bi and t = Fo; theta from 1 towards 0.
    struct Row {
        double bi, fo, centre, mid, surface;
    };
    for (const Row& row :
         {Row{0.1, 0.5, 0.9679807, 0.9564258, 0.9217789}, Row{0.1, 2, 0.8373261, 0.8272197, 0.7971444},
          Row{1, 0.05, 0.9997510, 0.9863002, 0.7903768}, Row{1, 0.2, 0.9506418, 0.8792548, 0.6433908},
          Row{1, 0.5, 0.7725264, 0.7025973, 0.5045219}, Row{1, 1, 0.5338594, 0.4852241, 0.3481769},
          Row{10, 0.2, 0.8292547, 0.6390569, 0.1224822}, Row{10, 0.5, 0.4546406, 0.3435127, 0.06432896}}) {
        const Layer layer{1, 1, 1, 400};
        auto solver = solverAt(Rod{.layers = {layer}, .leftWPerM2K = row.bi}.network(), 1);
        run(solver, 0, row.fo, {0, 0, 0}, 600);
        EXPECT_NEAR(at(solver, layer, 1), row.centre, 2e-5) << row.bi << " " << row.fo;
        EXPECT_NEAR(at(solver, layer, 0.5), row.mid, 2e-5) << row.bi << " " << row.fo;
        EXPECT_NEAR(at(solver, layer, 0), row.surface, 2e-5) << row.bi << " " << row.fo;
    }
}

TEST(Fin, HasTheTextbookProfileAndHeatAtItsBase)
{
    // 15 x 1 mm, 150 mm long, k 138, 30 W/m2K in all per plan area, tip 15; base 230, air 25.
    const Layer layer{0.150, alK, alRhoC, 1500};
    auto solver = solverAt(Rod{.layers = {layer},
                               .areaM2 = 15e-6,
                               .leftWPerM2K = HUGE_VAL,
                               .rightWPerM2K = 15,
                               .sideFilmWPerM = 30 * 0.015}
                               .network(),
                           25);
    run(solver, 0, 20000, {25, 230, 0}, 300);
    const double x[] = {10, 20, 30, 50, 75, 100, 150};
    const double expected[] = {202.6058, 179.0796, 158.9090, 126.9411, 99.28645, 81.83993, 69.05472};
    for (int i = 0; i < 7; ++i)
        EXPECT_NEAR(at(solver, layer, x[i] * 1e-3), expected[i], 1e-3) << x[i];
    EXPECT_NEAR(solver.heatFromPlateW(230), 6.110525, 1e-5);
}

TEST(LumpedBody, BeadReaches199InItsPublishedTime)
{
    // Incropera's thermocouple bead: h 400, c 400, rho 8500, D 0.7058824 mm, 25 -> 199 in 200 C gas
    // at 5.164786 s.
    HeatNetwork net;
    const double d = 0.7058824e-3;
    net.addNode(8500 * 400 * M_PI * d * d * d / 6);
    net.films.push_back({0, 400 * M_PI * d * d});
    auto solver = solverAt(net, 25);
    run(solver, 0, 5.164786, {200, 0, 0}, 400);
    EXPECT_NEAR(solver.temperaturesC()[0], 199, 1e-4);
}

TEST(TwoBodies, ShareTheirHeatAsTheEigenvaluesSay)
{
    HeatNetwork net;
    net.addNode(193.536);
    net.addNode(3.5376);
    net.links.push_back({0, 1, 1.5});
    net.films = {{0, 0.9}, {1, 0.045}};
    const double times[] = {1, 5, 30, 120};
    const double plate[] = {237.6548, 231.6794, 207.9844, 143.8749},
                 strip[] = {98.41463, 205.0031, 204.6255, 141.6930};
    Eigen::VectorXd start(2);
    start << 240, 25;
    TransientSolver solver(net, start);
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 0, 0}, 800);
        from = times[i];
        EXPECT_NEAR(solver.temperaturesC()[0], plate[i], 2e-3) << times[i];
        EXPECT_NEAR(solver.temperaturesC()[1], strip[i], 2e-3) << times[i];
    }
}

TEST(CompositeWall, WarmsAsTheInvertedLaplaceTransform)
{
    // 230 C through 1000 W/m2K, 1 mm 5052, contact 1e4 W/m2K, 2 mm PMMA, 15 W/m2K to 25 C.
    const Layer al{1e-3, alK, alRhoC, 20}, pmma{2e-3, pmmaK, pmmaRhoC, 400};
    auto solver = solverAt(
        Rod{.layers = {al, pmma}, .leftWPerM2K = 1000, .rightWPerM2K = 15, .gapWPerM2K = {1e4}}.network(),
        25);
    const double times[] = {1, 2, 5, 10, 30, 60, 120};
    const double alBottom[] = {86.79614, 123.5395, 175.3805, 201.1322, 220.6795, 226.3171, 227.3550};
    const double pmmaTop[] = {25.00022, 25.09432, 32.08925, 64.50444, 158.8186, 193.0691, 199.3783};
    double from = 0;
    for (int i = 0; i < 7; ++i) {
        run(solver, from, times[i], {25, 230, 0}, 300);
        from = times[i];
        const auto& t = solver.temperaturesC();
        EXPECT_NEAR(t[0] - 0.5 * (t[1] - t[0]), alBottom[i], 0.01) << times[i];
        const auto last = t.size() - 1;
        EXPECT_NEAR(t[last] + 0.5 * (t[last] - t[last - 1]), pmmaTop[i], 0.01) << times[i];
    }
}

TEST(LiftedStrip, CoolsByFilmAndRadiationAsAFineRungeKuttaRun)
{
    // rho c t dT/dt = -[22 (T - 25) + sigma (T^4 - 298.15^4)]
    struct Row {
        double thicknessMm, at5, at30, at120;
    };
    for (const Row& row : {Row{0.8, 221.3983, 149.0518, 54.20641}, Row{1.0, 225.2998, 162.8892, 67.32696},
                           Row{1.5, 230.6658, 184.3895, 95.27884}, Row{2.0, 233.4220, 196.7118, 116.3395}}) {
        HeatNetwork net;
        net.addNode(alRhoC * row.thicknessMm * 1e-3);
        net.films.push_back({0, 22});
        net.radiators.push_back({0, 1.0});
        auto solver = solverAt(net, 242);
        double t = 0;
        for (auto [until, expected] : {std::pair{5.0, row.at5}, {30.0, row.at30}, {120.0, row.at120}}) {
            for (; t < until - 1e-9; t += 0.25)
                solver.step(0.25, {25, 0, 0}, {25, 0, 0});
            EXPECT_NEAR(solver.temperaturesC()[0], expected, 2e-3)
                << row.thicknessMm << " mm at " << until << " s";
        }
        EXPECT_LT(solver.energy().closure(), 1e-6);
    }
}

TEST(TransientSolver, ErrorFallsWithTheSquareOfTheStep)
{
    // Radiating body, so that the order of the nonlinear solve shows too.
    auto endC = [](int steps) {
        HeatNetwork net;
        net.addNode(alRhoC * 1e-3);
        net.radiators.push_back({0, 5.0});
        net.films.push_back({0, 30});
        auto solver = solverAt(net, 242);
        for (int i = 0; i < steps; ++i)
            solver.step(60.0 / steps, {25, 0, 0}, {25, 0, 0});
        return solver.temperaturesC()[0];
    };
    const double exact = endC(6000);
    const double order = std::log2(std::abs(endC(30) - exact) / std::abs(endC(60) - exact));
    EXPECT_NEAR(order, 2, 0.15);
}

} // namespace
} // namespace stripwright
