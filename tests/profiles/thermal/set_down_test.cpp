#include "rod.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

constexpr int lumps = 4;

/// Joint and body of a 2835 as the strip's model builds them, on a core that is held: 35 µm of copper and 80
/// µm of solder in the joint's node, dielectric of 100 µm below it, the body in four lumps above.
HeatNetwork ledOnHeldCore()
{
    HeatNetwork net;
    const int joint = net.addNode(1.510631e-3);
    net.plateLinks.push_back({joint, 0.2142169});
    int below = joint;
    for (int i = 0; i < lumps; ++i) {
        const int lump = net.addNode(3.675e-3);
        net.links.push_back({below, lump, i == 0 ? 0.06226198 : 0.05226667});
        below = lump;
    }
    return net;
}

struct Seen {
    double jointLowestC = 1e9, jointLowestAtS = 0, jointAgainLiquidS = 0, undersideLiquidS = 0,
           topSteepestCPerS = 0;
    std::vector<Eigen::VectorXd> at; ///< At the times asked for.
};

Seen setDown(double stepS, double coreC, double startC, double liquidusC, const std::vector<double>& askedS)
{
    HeatNetwork net = ledOnHeldCore();
    Eigen::VectorXd temperaturesC = Eigen::VectorXd::Constant(1 + lumps, startC);
    temperaturesC[0] = coreC;
    TransientSolver solver(net, temperaturesC);
    Seen seen;
    double topC = startC;
    const Drive held{25, coreC, 0};
    for (long i = 1; seen.at.size() < askedS.size(); ++i) {
        solver.step(stepS, held, held);
        const double t = static_cast<double>(i) * stepS;
        const Eigen::VectorXd& now = solver.temperaturesC();
        if (now[0] < seen.jointLowestC) {
            seen.jointLowestC = now[0];
            seen.jointLowestAtS = t;
        }
        if (now[0] < liquidusC)
            seen.jointAgainLiquidS = t + stepS;
        if (now[1] < liquidusC)
            seen.undersideLiquidS = t + stepS;
        seen.topSteepestCPerS = std::max(seen.topSteepestCPerS, (now[lumps] - topC) / stepS);
        topC = now[lumps];
        if (t > askedS[seen.at.size()] - stepS / 2)
            seen.at.push_back(now);
    }
    return seen;
}

// Figures of a separate integration of the same five nodes.
TEST(SetDownNetwork, DipsThePadAndWarmsTheBodyAsIntegratedElsewhere)
{
    const Seen seen = setDown(0.001, 245, 25, 220, {0.1, 0.5, 1, 2});
    const double jointC[] = {220.886, 235.029, 240.646, 244.167},
                 lowestC[] = {140.483, 201.130, 225.842, 241.334},
                 topC[] = {31.549, 126.198, 192.998, 235.049};
    for (size_t i = 0; i < std::size(jointC); ++i) {
        EXPECT_NEAR(seen.at[i][0], jointC[i], 0.1) << i;
        EXPECT_NEAR(seen.at[i][1], lowestC[i], 0.1) << i;
        EXPECT_NEAR(seen.at[i][lumps], topC[i], 0.1) << i;
    }
    EXPECT_NEAR(seen.jointLowestC, 204.673, 0.1);
    EXPECT_NEAR(seen.jointLowestAtS, 0.016, 0.0015);
    EXPECT_NEAR(seen.jointAgainLiquidS, 0.092, 0.0015);
    EXPECT_NEAR(seen.undersideLiquidS, 0.839, 0.0015);
    EXPECT_NEAR(seen.topSteepestCPerS, 266.9, 0.5);
}

// Why a planned LED's body is a closed form of its own: the steps of a plan are too coarse for it.
TEST(SetDownNetwork, IsTooFastForTheStepsOfAPlan)
{
    const Seen seen = setDown(0.5, 245, 25, 220, {0.5, 1, 2});
    EXPECT_GT(std::abs(seen.at[0][lumps] - 126.198), 5);
    EXPECT_GT(seen.jointLowestC, 204.673 + 5);
}

} // namespace
} // namespace stripwright
