#include "rod.h"

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
                 at100[] = {25.71030, 43.75137, 72.70776, 106.7448},
                 fluxWPerM2[] = {659822.6, 380948.8, 269371.5, 190474.4}; // k (Ts - Ti) / sqrt(pi alpha t)
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 230, 0}, 400);
        from = times[i];
        EXPECT_NEAR(at(solver, layer, 0.020), at20[i], 0.02) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.050), at50[i], 0.02) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.100), at100[i], 0.02) << times[i];
        EXPECT_NEAR(solver.heatFromPlateW(230), fluxWPerM2[i], fluxWPerM2[i] * 2e-4) << times[i];
    }
    EXPECT_LT(solver.energy().closure(), 1e-10);
}

TEST(SemiInfiniteSolid, LensFootWarmsByTheSameLaw)
{
    const Layer layer{0.02, pmmaK, pmmaRhoC, 800};
    auto solver = solverAt(Rod{.layers = {layer}, .leftWPerM2K = HUGE_VAL}.network(), 25);
    const double times[] = {5, 10, 30, 60};
    const double half[] = {154.7310, 175.7782, 198.2996, 207.5135},
                 one[] = {94.56339, 127.3517, 167.7787, 185.4500},
                 oneAndAHalf[] = {56.11772, 88.72401, 139.4869, 164.2088},
                 three[] = {25.85097, 33.74820, 74.59183, 108.6337};
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 230, 0}, 400);
        from = times[i];
        EXPECT_NEAR(at(solver, layer, 0.0005), half[i], 0.03) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.001), one[i], 0.03) << times[i];
        EXPECT_NEAR(at(solver, layer, 0.0015), oneAndAHalf[i], 0.03) << times[i];
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

TEST(SemiInfiniteSolid, FreezesSoilToItsPublishedDepth)
{
    // Incropera: soil of 0.138e-6 m2/s at 20 C, its surface at -15 C for 60 days: 0 C at 0.6769619 m.
    const Layer soil{6, 0.138, 1e6, 1200};
    auto solver = solverAt(Rod{.layers = {soil}, .leftWPerM2K = HUGE_VAL}.network(), 20);
    run(solver, 0, 60 * 86400.0, {20, -15, 0}, 400);
    EXPECT_NEAR(at(solver, soil, 0.6769619), 0, 2e-3);
}

} // namespace
} // namespace stripwright
