#include "rod.h"

#include <gtest/gtest.h>
#include <map>

namespace stripwright {
namespace {

using namespace test;

// Aluminium 5052.
constexpr double alK = 138, alRhoC = 2680.0 * 880.0;

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

TEST(LumpedBody, FollowsThePlateByTheTimeConstantOfItsContact)
{
    // rho c t on a plate of 240 C, top film 25 to 25 C: tau = rho c t / (h + 25), in the end 25 + 215 h / (h
    // + 25).
    struct Row {
        double contactWPerM2K, tau08S, tau10S, tau15S, settledC;
    };
    for (const Row& row :
         {Row{70, 19.86021, 24.82526, 37.23789, 183.4211}, Row{120, 13.01186, 16.26483, 24.39724, 202.9310},
          Row{350, 5.031253, 6.289067, 9.433600, 225.6667}, Row{500, 3.593752, 4.492190, 6.738286, 229.7619},
          Row{1000, 1.840702, 2.300878, 3.451317, 234.7561},
          Row{2000, 0.9317136, 1.164642, 1.746963, 237.3457},
          Row{3640, 0.5147940, 0.6434925, 0.9652387, 238.5334},
          Row{10000, 0.1882015, 0.2352519, 0.3528778, 239.4638}})
        for (auto [thicknessM, tauS] :
             {std::pair{0.8e-3, row.tau08S}, {1.0e-3, row.tau10S}, {1.5e-3, row.tau15S}}) {
            HeatNetwork net;
            net.addNode(alRhoC * thicknessM);
            net.plateLinks.push_back({0, row.contactWPerM2K});
            net.films.push_back({0, 25});
            auto solver = solverAt(net, 25);
            run(solver, 0, tauS, {25, 240, 0}, 400);
            EXPECT_NEAR(solver.temperaturesC()[0], row.settledC - (row.settledC - 25) / M_E, 1e-3)
                << row.contactWPerM2K << " " << thicknessM;
            run(solver, tauS, 30 * tauS, {25, 240, 0}, 400);
            EXPECT_NEAR(solver.temperaturesC()[0], row.settledC, 1e-4) << row.contactWPerM2K;
        }
}

TEST(LumpedBody, ClimbsTheExponentialAfterAStep)
{
    HeatNetwork net;
    net.addNode(alRhoC * 1e-3);
    net.plateLinks.push_back({0, 500});
    net.films.push_back({0, 25});
    auto solver = solverAt(net, 25);
    double from = 0;
    for (auto [until, expected] :
         {std::pair{2.0, 98.57399}, {5.0, 162.4858}, {10.0, 207.6578}, {20.0, 227.3758}}) {
        run(solver, from, until, {25, 240, 0}, 300);
        from = until;
        EXPECT_NEAR(solver.temperaturesC()[0], expected, 1e-3) << until;
    }
}

TEST(LumpedBody, VerticalPlateCoolsByNaturalConvectionInItsPublishedTime)
{
    // Incropera: polished aluminium 150 x 150 x 5 mm, 2770 kg/m3, 225 to 80 C in 25 C air, both faces at
    // h = 1.42 (dT / L)^(1/4): t = (rho w c / 2) (L^(1/4) / 1.42) 4 (55^(-1/4) - 200^(-1/4)).
    for (auto [jPerKgK, seconds] : {std::pair{940.0, 1155.879}, {925.0, 1137.434}, {983.0, 1208.754}}) {
        HeatNetwork net;
        net.addNode(2770 * 0.005 * jPerKgK);
        net.films.push_back({.node = 0, .wPerK = 2 * 1.42, .exponent = 0.25, .refK = 0.15});
        auto solver = solverAt(net, 225);
        run(solver, 0, seconds, {25, 0, 0}, 400);
        EXPECT_NEAR(solver.temperaturesC()[0], 80, 1e-3) << jPerKgK;
        EXPECT_LT(solver.energy().closure(), 1e-6);
    }
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

TEST(TwoBodies, SettleAtTheirMeanByTheTimeConstantOfTheContact)
{
    // Without losses: (C1 240 + C2 25) / (C1 + C2) = 236.1406, tau = C1 C2 / ((C1 + C2) G) = 2.316065 s.
    HeatNetwork net;
    net.addNode(193.536);
    net.addNode(3.5376);
    net.links.push_back({0, 1, 1.5});
    Eigen::VectorXd start(2);
    start << 240, 25;
    TransientSolver solver(net, start);
    const double times[] = {1, 2, 5, 10};
    const double strip[] = {99.03417, 147.1091, 211.7624, 233.3259},
                 plate[] = {238.6467, 237.7680, 236.5862, 236.1921};
    double from = 0;
    for (int i = 0; i < 4; ++i) {
        run(solver, from, times[i], {25, 0, 0}, 400);
        from = times[i];
        EXPECT_NEAR(solver.temperaturesC()[0], plate[i], 2e-4) << times[i];
        EXPECT_NEAR(solver.temperaturesC()[1], strip[i], 2e-3) << times[i];
    }
    run(solver, 10, 100, {25, 0, 0}, 400);
    EXPECT_NEAR(solver.temperaturesC()[1], 236.1406, 1e-4);
}

TEST(LiftedStrip, CoolsByFilmAndRadiationAsAFineRungeKuttaRun)
{
    // rho c t dT/dt = -[22 (T - 25) + sigma (T^4 - 298.15^4)]
    struct Row {
        double thicknessMm, rateCPerS, at[7], from242To217S, from172To138S;
    };
    const double times[] = {5, 10, 15, 20, 30, 60, 120};
    for (const Row& row : {Row{0.8,
                               -4.4094,
                               {221.3983, 203.3305, 187.3621, 173.1588, 149.0518, 99.98700, 54.20641},
                               6.16,
                               14.96},
                           Row{1.0,
                               -3.5275,
                               {225.2998, 210.2840, 196.7118, 184.3895, 162.8892, 116.3395, 67.32696},
                               7.70,
                               18.70},
                           Row{1.5,
                               -2.3517,
                               {230.6658, 220.1204, 210.2840, 201.0883, 184.3895, 144.8119, 95.27884},
                               11.55,
                               28.05},
                           Row{2.0,
                               -1.7638,
                               {233.4220, 225.2998, 217.5977, 210.2840, 196.7118, 162.8892, 116.3395},
                               15.40,
                               37.40}}) {
        HeatNetwork net;
        net.addNode(alRhoC * row.thicknessMm * 1e-3);
        net.films.push_back({0, 22});
        net.radiators.push_back({0, 1.0});
        auto first = solverAt(net, 242);
        first.step(1e-4, {25, 0, 0}, {25, 0, 0});
        EXPECT_NEAR((first.temperaturesC()[0] - 242) / 1e-4, row.rateCPerS, 1e-3) << row.thicknessMm;

        auto solver = solverAt(net, 242);
        double t = 0, before = 242;
        std::map<double, double> crossingS;
        for (int i = 0; i < 7; ++i) {
            for (; t < times[i] - 1e-9; t += 0.125) {
                solver.step(0.125, {25, 0, 0}, {25, 0, 0});
                const double now = solver.temperaturesC()[0];
                for (double level : {217.0, 172.0, 138.0})
                    if (before >= level && now < level)
                        crossingS[level] = t + 0.125 * (before - level) / (before - now);
                before = now;
            }
            EXPECT_NEAR(solver.temperaturesC()[0], row.at[i], 1e-3)
                << row.thicknessMm << " mm at " << times[i] << " s";
        }
        EXPECT_NEAR(crossingS[217], row.from242To217S, 0.006) << row.thicknessMm;
        EXPECT_NEAR(crossingS[138] - crossingS[172], row.from172To138S, 0.006) << row.thicknessMm;
        EXPECT_LT(solver.energy().closure(), 1e-6);
    }
}

} // namespace
} // namespace stripwright
