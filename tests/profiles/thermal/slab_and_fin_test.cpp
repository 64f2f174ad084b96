#include "rod.h"

#include <gtest/gtest.h>
#include <tuple>

namespace stripwright {
namespace {

using namespace test;

// Aluminium 5052.
constexpr double alK = 138, alRhoC = 2680.0 * 880.0;

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

TEST(Fin, LosesAsMuchAsItsTextbookLimits)
{
    // The same strip without a tip film, and endless.
    auto strip = [](double lengthM) {
        return Rod{.layers = {{lengthM, alK, alRhoC, static_cast<int>(std::lround(lengthM * 1e4))}},
                   .areaM2 = 15e-6,
                   .leftWPerM2K = HUGE_VAL,
                   .sideFilmWPerM = 30 * 0.015};
    };
    const Rod insulatedTip = strip(0.150), endless = strip(1.0);
    auto solver = solverAt(insulatedTip.network(), 25);
    run(solver, 0, 20000, {25, 230, 0}, 300);
    EXPECT_NEAR(solver.heatFromPlateW(230), 6.108379, 1e-5);
    EXPECT_NEAR(at(solver, insulatedTip.layers[0], 0.150), 69.37180, 1e-3);
    auto endlessSolver = solverAt(endless.network(), 25);
    run(endlessSolver, 0, 20000, {25, 230, 0}, 300);
    EXPECT_NEAR(endlessSolver.heatFromPlateW(230), 6.256699, 1e-5);
}

TEST(Fin, VeryLongRodsLoseTheirPublishedHeat)
{
    // Incropera: 5 mm rods, base 100 C, air 25 C, h 100: q = sqrt(h P k A) 75.
    for (auto [k, watts] : {std::pair{398.0, 8.309553}, {180.0, 5.588206}, {14.0, 1.558476}}) {
        constexpr double diameterM = 5e-3;
        const double decayM = std::sqrt(k * diameterM / 400);
        auto solver = solverAt(Rod{.layers = {{12 * decayM, k, 3e6, 2400}},
                                   .areaM2 = M_PI / 4 * diameterM * diameterM,
                                   .leftWPerM2K = HUGE_VAL,
                                   .sideFilmWPerM = 100 * M_PI * diameterM}
                                   .network(),
                               25);
        run(solver, 0, 20000, {25, 100, 0}, 300);
        EXPECT_NEAR(solver.heatFromPlateW(100), watts, watts * 1e-5) << k;
    }
}

TEST(Fin, DecaysOverTheTextbookLength)
{
    // 1/m = sqrt(k t / h) in mm, h the films of both faces together.
    struct Row {
        double wPerM2K, k138t1, k222t1, k138t15;
    };
    for (const Row& row : {Row{30, 67.8, 86.0, 83.1}, Row{40, 58.7, 74.5, 71.9}, Row{100, 37.1, 47.1, 45.5},
                           Row{300, 21.4, 27.2, 26.3}, Row{1000, 11.7, 14.9, 14.4}, Row{3000, 6.8, 8.6, 8.3}})
        for (auto [k, thicknessM, decayMm] :
             {std::tuple{138.0, 1e-3, row.k138t1}, {222.0, 1e-3, row.k222t1}, {138.0, 1.5e-3, row.k138t15}}) {
            const Layer layer{0.012 * decayMm, k, alRhoC, 480};
            auto solver = solverAt(Rod{.layers = {layer},
                                       .areaM2 = thicknessM,
                                       .leftWPerM2K = HUGE_VAL,
                                       .sideFilmWPerM = row.wPerM2K}
                                       .network(),
                                   25);
            run(solver, 0, 20000, {25, 230, 0}, 100);
            const double fromM = 0.001 * decayMm, overM = 0.002 * decayMm;
            const double fall = (at(solver, layer, fromM) - 25) / (at(solver, layer, fromM + overM) - 25);
            EXPECT_NEAR(1e3 * overM / std::log(fall), decayMm, 0.051) << row.wPerM2K << " " << k;
        }
}

} // namespace
} // namespace stripwright
