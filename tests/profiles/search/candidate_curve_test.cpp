#include "demo_sheet.h"

#include "planner/heat_kinds.h"
#include "search/candidate_curve.h"
#include "search/margin_climb.h"

#include <algorithm>
#include <gtest/gtest.h>
#include <numeric>

namespace stripwright {
namespace {

constexpr StripDraw noDraw = {};

PlateType plainPlate()
{
    PlateType plate = *findById(test::shippedShelf().plates, "bench-plate-60");
    plate.radiatingAreaM2 = 0;
    return plate;
}

// C dT/dt = P - G (T - Ta) without an element's lag: an exponential for every piece of power.
TEST(FollowPower, HeatsAlongTheExponentialsOfItsPieces)
{
    PlateType plate = plainPlate();
    plate.elementLagS = 0;
    const PowerSchedule schedule{{0, 61}, {0.6, 0.1}, 200.25};
    const PlateReference reference = followPower(schedule, plate, noDraw, 20, false, 1, 400);
    const double tauS = plate.heatCapacityJPerK / plate.lossWPerK;
    const auto rise = [&](double fromK, double duty, double s) {
        const double settledK = duty * plate.powerW / plate.lossWPerK;
        return settledK + (fromK - settledK) * std::exp(-s / tauS);
    };
    const double first = rise(0, 0.6, 61), second = rise(first, 0.1, 139.25);
    EXPECT_NEAR(reference.plateC[61], 20 + first, 0.1);
    EXPECT_NEAR(reference.plateC[200], 20 + rise(first, 0.1, 139), 0.1);
    EXPECT_NEAR(reference.plateC[400], 20 + rise(second, 0, 199.75), 0.1);
    EXPECT_DOUBLE_EQ(reference.heaterOffS, 200.25);
    EXPECT_NEAR(std::accumulate(reference.duty.begin(), reference.duty.end(), 0.0), 0.6 * 61 + 0.1 * 139.25,
                1e-6);
}

// A climb follows slopes: a quarter of a second must weigh as a quarter of a second.
TEST(FollowPower, BlowsForAsMuchOfAStepAsIsLeftAfterHeaterOff)
{
    const PlateType plate = plainPlate();
    const auto atEndC = [&](double offS) {
        return followPower({{0}, {0.5}, offS}, plate, noDraw, 20, true, 2, 120).plateC.back();
    };
    const double whole = atEndC(100.5) - atEndC(100);
    for (const double share : {0.2, 0.4, 0.6, 0.8})
        EXPECT_NEAR((atEndC(100 + share / 2) - atEndC(100)) / whole, share, 0.02) << share;
}

TEST(FollowShape, SaysWhenItPassesItsCorners)
{
    const Shape shape{1.0, 110, 60, 130, 140, 30, 0.8, 180, 5};
    const PlateReference reference = followShape(shape, plainPlate(), noDraw, 20, false, 1, 500, 500);
    const std::vector<double> expectedS = {90, 150, 160, 190, 240};
    ASSERT_EQ(reference.bendsS.size(), expectedS.size());
    for (size_t i = 0; i < expectedS.size(); ++i)
        EXPECT_NEAR(reference.bendsS[i], expectedS[i], 2) << i;
}

// The plate as one lump with late capacities, against the whole network with the plate as a node of it.
TEST(StripDraw, BringsThePlateWhereTheWholeNetworkBringsIt)
{
    for (const char* name : {"marram-lane-bar-7.bench.json", "marram-lane-bar-3-sac305.bench.json"}) {
        const BenchSheet sheet = test::shippedSheet(name);
        const UnitResponse response(sheet, {}, 2, 720, 120);
        const PowerSchedule schedule{{0, 60, 160}, {0.85, 0.25, 0.8}, 200};
        const PlateReference lumped =
            followPower(schedule, sheet.plate, response.draw(), sheet.air.ambientC, false, 1, 500);
        StripModelOptions options;
        options.plateIsNode = true;
        const StripModel model = buildStripModel(sheet, options);
        const auto nodes = static_cast<Eigen::Index>(model.network.capacityJPerK.size());
        TransientSolver solver(model.network, Eigen::VectorXd::Constant(nodes, sheet.air.ambientC));
        const Station& body = *model.find({StationKind::Plate});
        double worstK = 0;
        for (int second = 0; second < 500; ++second) {
            worstK = std::max(worstK, std::abs(body.valueC(solver.temperaturesC()) -
                                               lumped.plateC[static_cast<size_t>(second)]));
            const double duty = lumped.duty[static_cast<size_t>(second)];
            const Drive drive{sheet.air.ambientC, 0, duty * sheet.plate.powerW};
            for (int half = 0; half < 2; ++half)
                solver.step(0.5, drive, drive);
        }
        EXPECT_LT(worstK, 1.1) << name;
    }
}

TEST(PowerCandidate, BeginsWithThePowerOfItsCurveAfterAnIdleWhile)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const Shape shape{1.0, 110, 60, 130, 140, 30, 0.8, 180, 5};
    const PlateReference drawn =
        followShape(shape, sheet.plate, noDraw, sheet.air.ambientC, sheet.cooling.fan, 2, 480, 720);
    const CandidateCurve candidate = powerCandidate(sheet, drawn, 480, 720);
    const PlateReference driven = candidate.follow(candidate.values, noDraw, 2);
    const auto joules = [](const PlateReference& of) {
        return of.stepS * std::accumulate(of.duty.begin(), of.duty.end(), 0.0);
    };
    EXPECT_NEAR(joules(driven), joules(drawn), 1e-6);
    const auto powered = std::find_if(driven.duty.begin(), driven.duty.end(), [](double d) { return d > 0; });
    const auto idle = static_cast<size_t>(powered - driven.duty.begin());
    EXPECT_GE(idle, 12u);
    for (size_t i = 0; i + idle < driven.plateC.size(); i += 10)
        EXPECT_NEAR(driven.plateC[i + idle], drawn.plateC[i], 14) << i;
    EXPECT_EQ(driven.bendsS.size(), candidate.values.size());
}

TEST(CandidateCurve, CostsItsDistanceFromAPlainOne)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const PlateReference drawn = followShape({1.0, 110, 60, 130, 140, 30, 0.8, 180, 5}, sheet.plate, noDraw,
                                             sheet.air.ambientC, false, 2, 480, 720);
    CandidateCurve candidate = powerCandidate(sheet, drawn, 480, 720);
    EXPECT_EQ(candidate.price(candidate.values), 0);
    candidate.values.front() += 0.1;
    const double one = candidate.price(candidate.values);
    EXPECT_GT(one, 0);
    candidate.values.front() -= 0.3;
    EXPECT_NEAR(candidate.price(candidate.values), 2 * one, 1e-12);

    const auto ofShape = [&](double soakS) {
        const CandidateCurve drawnCandidate =
            shapeCandidate(sheet, {1.0, 110, soakS, 130, 140, 30, 0.8, 180, 5}, 120, 480, 720);
        return drawnCandidate.price(drawnCandidate.values);
    };
    EXPECT_GT(ofShape(90), ofShape(60));
}

TEST(PowerCandidate, LeavesNoRoomPastTheLatestHeaterOff)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const PlateReference drawn = followShape({1.0, 110, 60, 130, 140, 30, 0.8, 180, 5}, sheet.plate, noDraw,
                                             sheet.air.ambientC, false, 2, 480, 720);
    for (const double roomS : {0.0, 10.0, 40.0, 300.0}) {
        const CandidateCurve candidate = powerCandidate(sheet, drawn, drawn.heaterOffS + roomS, 720);
        EXPECT_LE(candidate.follow(candidate.values, noDraw, 2).heaterOffS, drawn.heaterOffS + roomS + 1e-9);
    }
}

TEST(WithoutIdle, BeginsAHeatWithItsFirstPowerAndEndsItWithTheLast)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const auto curveOf = [&](const PowerSchedule& schedule) {
        return followPower(schedule, sheet.plate, noDraw, sheet.air.ambientC, false, 2, 400);
    };
    const PlateReference late = curveOf({{0, 40, 160, 180}, {0, 0.6, 0.2, 0}, 220});
    const PlateReference atOnce = curveOf({{0, 120}, {0.6, 0.2}, 140});
    const PlateReference trimmed = withoutIdle(late, false);
    EXPECT_DOUBLE_EQ(trimmed.heaterOffS, 140);
    EXPECT_DOUBLE_EQ(trimmed.bendsS[1], 0);
    ASSERT_EQ(trimmed.plateC.size() + 20, atOnce.plateC.size());
    ASSERT_EQ(trimmed.duty.size(), trimmed.plateC.size());
    for (size_t i = 0; i < trimmed.plateC.size(); i += 9)
        EXPECT_NEAR(trimmed.plateC[i], atOnce.plateC[i], 1e-9) << i;
    EXPECT_DOUBLE_EQ(withoutIdle(late, true).heaterOffS, 180); // a fan waits for its moment
}

class Climbing : public testing::TestWithParam<HeatKind> {
protected:
    Climbing() : sheet_(sheetOf(GetParam())), task_(taskOf(sheet_)), margins_(task_, 2, 720, 120)
    {
        margins_.learn(wholeModel(task_, reference(fromC()))); // and what the strip draws
    }

    static BenchSheet sheetOf(HeatKind heat)
    {
        BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
        sheet.heat = heat;
        return sheet;
    }

    /// A plate that gets too little hot for the paste's window, or for the hands.
    static double fromC() { return GetParam() == HeatKind::Fit ? 172 : 168; }

    PlateReference reference(double peakC) const
    {
        const Shape shape{1.5, 132, 60, 132, 132, 0, 3, peakC, 0};
        return followShape(shape, sheet_.plate, margins_.draw(), sheet_.air.ambientC, false, 2, 480, 720);
    }

    BenchSheet sheet_;
    HeatTask task_;
    AimedMargins margins_;
};

INSTANTIATE_TEST_SUITE_P(Heats, Climbing, testing::Values(HeatKind::Fit, HeatKind::Swap),
                         [](const auto& heat) { return heat.param == HeatKind::Fit ? "Fit" : "Swap"; });

// Where it has been told the truth superposition must repeat it, and 10 K of plate farther on be near it.
TEST_P(Climbing, MarginsAreTheWholeModelsWhereItHasBeenAsked)
{
    const auto worstOf = [&](const std::vector<AimedMargin>& margins) {
        double worst = 1e9;
        for (const auto& [kind, margin] : margins)
            if (kind == AimKind::Job || kind == AimKind::Part)
                worst = std::min(worst, margin);
        return worst;
    };
    const PredictedHeat asked = wholeModel(task_, reference(fromC()));
    margins_.learn(asked);
    EXPECT_NEAR(worstOf(margins_.of(margins_.superpose(reference(fromC())))), margins_.worst(asked), 1e-3);
    const double ofOneSecond = 1 / 3.5; // hands need 35 s, and half of that window is 3.5
    const PredictedHeat farther = wholeModel(task_, reference(fromC() + 10));
    EXPECT_NEAR(worstOf(margins_.of(margins_.superpose(reference(fromC() + 10)))), margins_.worst(farther),
                GetParam() == HeatKind::Fit ? 0.05 : ofOneSecond);
    EXPECT_GT(std::abs(margins_.worst(farther) - margins_.worst(asked)), 0.2);
}

TEST(SwapMargins, SeeTheNewJointFromWhereTheHandsAreDone)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    HeatTask task = taskOf(sheet);
    std::erase_if(task.limits,
                  [](const Limit& limit) { return limit.metric != Metric::Wetting || limit.habit; });
    ASSERT_EQ(task.limits.size(), 1u);
    task.limits[0].min = 150; // longer than it is liquid after the set-down, so that it counts
    AimedMargins margins(task, 2, 720, 120);
    const auto reference = [&](double peakC) {
        return followShape({1.5, 132, 60, 132, 132, 0, 3, peakC, 15}, sheet.plate, margins.draw(),
                           sheet.air.ambientC, false, 2, 480, 720);
    };
    margins.learn(wholeModel(task, reference(180))); // what the strip draws
    const PredictedHeat asked = wholeModel(task, reference(180));
    margins.learn(asked);
    ASSERT_LT(margins.worst(asked), 0);
    const std::vector<AimedMargin> seen = margins.of(margins.superpose(reference(180)));
    ASSERT_FALSE(seen.empty());
    EXPECT_NEAR(seen[0].margin, margins.worst(asked), 1e-3);
}

TEST_P(Climbing, HasARowForEveryKind)
{
    const std::vector<AimedMargin> margins = margins_.of(margins_.superpose(reference(fromC())));
    for (const AimKind kind : {AimKind::Job, AimKind::Slope, AimKind::Clear, AimKind::Habit})
        EXPECT_GT(std::ranges::count(margins, kind, &AimedMargin::kind), 0) << static_cast<int>(kind);
}

// From a poor start, asking the whole model again after each climb.
TEST_P(Climbing, GetsFarByPower)
{
    const PredictedHeat before = wholeModel(task_, reference(fromC()));
    margins_.correctBy(before);
    CandidateCurve candidate = powerCandidate(sheet_, before.reference, 480, 720);
    PredictedHeat after;
    for (int round = 0; round < 3; ++round) {
        climb(candidate, margins_, Merit(), 0.5);
        after = wholeModel(task_, candidate.follow(candidate.values, margins_.draw(), 2));
        margins_.learn(after);
    }
    EXPECT_GT(margins_.worst(after), margins_.worst(before) + 1);
}

} // namespace
} // namespace stripwright
