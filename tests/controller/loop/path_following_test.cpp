#include "bench_run.h"

#include <cmath>

namespace stripwright {

/// The reference plan with a paste's limits for its one target, so that a look at the rest has something to
/// keep.
static HeatPlan planWithLimits()
{
    HeatPlan plan = referencePlan();
    plan.sheet.heat = HeatKind::Fit;
    for (int site = 1; site <= 6; ++site)
        plan.sheet.sites.push_back({.site = site,
                                    .state = site == 6 ? SiteState::Replace : SiteState::Good,
                                    .lens = LensState::Off});
    plan.sheet.strip.siteXMm = {0, 0, 0, 0, 0, 0};
    plan.sheet.paste.alloy.solidusC = plan.sheet.paste.alloy.liquidusC = 217;
    plan.sheet.paste.aboveLiquidusS = {.max = 96};
    plan.sheet.paste.peakC = {.min = 218, .max = 245};
    plan.sheet.contact = {.lowWPerM2K = 1000, .nominalWPerM2K = 2000, .highWPerM2K = 4000};
    plan.joints = {{6, {0.92, 6, 1}, {0.94, 4, 1}, {0.96, 3, 1}}};
    return plan;
}

static double aboveS(const BenchRun& run, double levelC)
{
    double seconds = 0;
    for (const CycleRecord& record : run.records)
        if (record.jointNominalC && *record.jointNominalC >= levelC)
            seconds += run.periodS;
    return seconds;
}

TEST(PathFollowing, WeakPlateGoesSlowerInsteadOfFallingBehind)
{
    BenchRun run;
    run.plate.powerFactor = 0.8;
    double worstK = 0;
    run.until([&] {
        if (run.last.state == RunState::Running || run.last.state == RunState::Holding)
            worstK = std::max(worstK, std::abs(run.plate.plateC() - run.last.referenceC));
        return run.last.state == RunState::Ended;
    });
    EXPECT_LT(worstK, 2.5);
    EXPECT_GT(run.last.timeS - run.last.profileS, 10);
    EXPECT_EQ(run.last.outcome, Outcome::Completed) << run.last.outcomeText.data();
}

TEST(PathFollowing, RestOfTheHeatIsPlannedAnewWhenAHeavyPlateWouldKeepTheJointLiquidTooLong)
{
    for (const bool heavy : {false, true}) {
        BenchRun run(planWithLimits());
        run.plate.capacityFactor = heavy ? 1.25 : 1;
        run.plate.lossFactor = heavy ? 0.8 : 1;
        run.untilState(RunState::Ended);
        EXPECT_EQ(run.said("planned anew"), heavy);
        EXPECT_LE(aboveS(run, 217), 96) << heavy;
        EXPECT_EQ(run.firstTrip(), nullptr);
    }
}

TEST(PathFollowing, ChangedPathNeverEndsLaterThanThePlanSaysInProfileTimeNorPassesItsTrip)
{
    const HeatPlan plan = planWithLimits();
    BenchRun run(plan);
    run.plate.capacityFactor = 1.25;
    run.plate.lossFactor = 0.8;
    run.untilState(RunState::Ended);
    EXPECT_TRUE(run.said("planned anew"));
    int off = 0, heated = 0;
    for (const CycleRecord& record : run.records) {
        if (record.profileS >= plan.heaterOffS) {
            EXPECT_EQ(record.duty, 0);
            ++off;
        }
        heated += record.duty > 0;
        EXPECT_LE(record.referenceC, plan.tripAboveC - 8);
    }
    EXPECT_GT(off, 100);
    EXPECT_GT(heated, 100);
}

TEST(PathFollowing, JointsBelowThePlansRangeHoldTheClimbToReflowBack)
{
    HeatPlan plan = referencePlan();
    PlanCurve joint{jointOf(6), plan.plateC, plan.plateC, plan.plateC};
    plan.curves = {joint}; // as warm as the plate: the estimate by the plan's models stays 9 K below
    BenchRun run(plan);
    run.untilState(RunState::Ended);
    EXPECT_TRUE(run.said("the plan waits before it goes on to reflow"));
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByLimit);
    EXPECT_LT(run.last.profileS, 247);
}

/// With a thermocouple beside site 6. The board of the reference plate as seen from it: 30 J/K on 2.4 W/K,
/// and 0.1 W/K to air; contact low and high are a factor of 1.5 away, poor is a quarter of low.
static HeatPlan planWithThermocouple()
{
    HeatPlan plan = referencePlan();
    plan.sheet.stripSensorSite = 6;
    plan.sheet.contact = {.lowWPerM2K = 1333, .nominalWPerM2K = 2000, .highWPerM2K = 3000};
    const auto response = [](double factor) {
        const double contactWPerK = 2.4 * factor;
        return PlateResponse{contactWPerK / (contactWPerK + 0.1), 30 / (contactWPerK + 0.1), 0.5};
    };
    plan.joints = {{6, response(1 / 1.5), response(1), response(1.5), response(0.25 / 1.5)}};
    plan.sheet.paste.aboveLiquidusS.max = 400;
    plan.cards = {{.id = "reseat-strip", .raised = Raised::WhenNotSeated}};
    return plan;
}

TEST(PathFollowing, StripThatIsNotSeatedIsHeldInPreheatUntilTheHandsHaveSeatedIt)
{
    BenchRun run(planWithThermocouple());
    run.plate.thermocoupleOnBoard = true;
    run.plate.contactFactor = 0.05;
    ASSERT_TRUE(run.until([&] { return run.last.card == 0; }, 400));
    const double heldAtC = run.last.referenceC, heldAtS = run.last.profileS;
    EXPECT_LT(heldAtC, 150);
    for (int i = 0; i < 50; ++i)
        run.cycle();
    EXPECT_EQ(run.last.state, RunState::Holding);
    EXPECT_NEAR(run.last.profileS, heldAtS, 1);
    run.plate.contactFactor = 1;
    run.loop.confirmCard("reseat-strip");
    run.untilState(RunState::Ended);
    EXPECT_TRUE(run.said("lies on the plate now"));
    EXPECT_EQ(run.last.outcome, Outcome::Completed) << run.last.outcomeText.data();
}

TEST(PathFollowing, StripThatStaysUnseatedIsNotDrivenHotter)
{
    BenchRun run(planWithThermocouple());
    run.plate.thermocoupleOnBoard = true;
    run.plate.contactFactor = 0.05;
    double hottestC = 0;
    run.until([&] {
        hottestC = std::max(hottestC, run.plate.plateC());
        return run.last.state == RunState::Ended;
    });
    EXPECT_LT(hottestC, 150);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByLimit);
    EXPECT_NE(std::string(run.last.outcomeText.data()).find("not seated"), std::string::npos)
        << run.last.outcomeText.data();
}

TEST(PathFollowing, SeatedStripWithAThermocoupleRunsThroughWithoutACard)
{
    BenchRun run(planWithThermocouple());
    run.plate.thermocoupleOnBoard = true;
    bool cardUp = false;
    run.until([&] {
        cardUp = cardUp || run.last.card >= 0;
        return run.last.state == RunState::Ended;
    });
    EXPECT_FALSE(cardUp);
    EXPECT_EQ(run.last.outcome, Outcome::Completed) << run.last.outcomeText.data();
}

TEST(PathFollowing, SetpointPlateFollowsAndIsNeverToldToGoFurtherThanTwoSecondsAhead)
{
    LoopSettings settings;
    settings.drive = DriveKind::Setpoint;
    const HeatPlan plan = referencePlan();
    BenchRun run(plan, settings);
    run.plate.ownLoop = true;
    double sum = 0, worstK = 0;
    int count = 0;
    run.until([&] {
        const bool heats = run.last.state == RunState::Running || run.last.state == RunState::Holding;
        if (heats) {
            const double errorK = run.plate.plateC() - run.last.referenceC;
            sum += errorK * errorK, ++count;
            worstK = std::max(worstK, std::abs(errorK));
            EXPECT_LE(run.plate.setpointC(),
                      planValue(plan.timeS, plan.plateC, run.last.profileS + 2) + 1e-6);
        }
        return run.last.state == RunState::Ended;
    });
    EXPECT_EQ(run.last.outcome, Outcome::Completed) << run.last.outcomeText.data();
    EXPECT_LT(std::sqrt(sum / count), 2);
    EXPECT_LT(worstK, 5);
}

TEST(PathFollowing, SetpointPlateWhoseHostDiesHasNoClimbLeft)
{
    LoopSettings settings;
    settings.drive = DriveKind::Setpoint;
    BenchRun run(referencePlan(), settings);
    run.plate.ownLoop = true;
    run.untilProfile(300);
    const double thenC = run.plate.plateC();
    double hottestC = thenC;
    for (int i = 0; i < 1500; ++i) {
        run.plate.advance(0.2);
        run.plate.read();
        hottestC = std::max(hottestC, run.plate.plateC());
    }
    EXPECT_LT(hottestC, thenC + 12); // of 27 K that the plan still had to climb
}

TEST(PathFollowing, EnableOutputIsOnOnlyWhileTheRunHeats)
{
    BenchRun run;
    run.plate.withEnable = true;
    run.untilState(RunState::Running);
    EXPECT_TRUE(run.plate.enabled());
    EXPECT_TRUE(run.said("enable output tried"));
    run.untilState(RunState::Cooling);
    run.cycle();
    EXPECT_FALSE(run.plate.enabled());
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::Completed);
}

TEST(PathFollowing, PlateThatHeatsBehindItsEnableOutputIsNotRun)
{
    BenchRun run;
    run.plate.withEnable = run.plate.welded = true;
    run.until([&] { return run.last.state != RunState::Starting; }, 100);
    run.cycle();
    EXPECT_FALSE(run.plate.enabled());
    EXPECT_EQ(run.plate.heatingS(), 0);
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByLimit);
    EXPECT_LT(run.plate.plateC(), 50);
}

TEST(PathFollowing, LearntFiguresOfThePlateReplaceThoseOfThePlan)
{
    HeatPlan plan = referencePlan();
    plan.sheet.plate.heatCapacityJPerK *= 0.8; // what the shelf believes
    plan.sheet.plate.elementLagS = 2;
    const PlateType real = referencePlateType();
    IdentifiedPlate known{.powerW = real.powerW,
                          .heatCapacityJPerK = real.heatCapacityJPerK,
                          .lossWPerK = real.lossWPerK,
                          .radiatingAreaM2 = real.radiatingAreaM2,
                          .elementLagS = real.elementLagS,
                          .sensorLagS = real.sensorLagS,
                          .deadTimeS = real.deadTimeS};
    const PidGains gains = simcGains(figuresOf(real, 25));
    known.dutyPerK = gains.kPerK, known.integralS = gains.tiS, known.derivativeS = gains.tdS;
    // The plan's duty as a planner with those beliefs would have written it.
    const PlateFigures believed = figuresOf(plan.sheet.plate, 25);
    for (size_t i = 0; i + 8 < plan.timeS.size() && plan.timeS[i] < plan.heaterOffS; ++i) {
        const double slope = std::max(0.0, plan.plateC[i + 3] - plan.plateC[i + 2]);
        plan.duty[i] = ((believed.heatCapacityJPerK + 30) * slope + believed.lossW(plan.plateC[i + 2])) / 900;
    }
    double rms[2];
    for (const bool learnt : {false, true}) {
        LoopSettings settings;
        if (learnt)
            settings.identified = known;
        BenchRun run(plan, settings);
        double sum = 0;
        int count = 0;
        run.until([&] {
            if (run.last.state == RunState::Running)
                sum += std::pow(run.plate.plateC() - run.last.referenceC, 2), ++count;
            return run.last.state == RunState::Ended;
        });
        rms[learnt] = std::sqrt(sum / count);
    }
    EXPECT_LT(rms[1], 0.4);
    EXPECT_LT(rms[1], 0.6 * rms[0]);
}

} // namespace stripwright
