#include "joint_trial.h"

#include <cmath>

namespace stripwright {
namespace {

using News = JointEstimate::News;

TEST(JointEstimate, WithoutAThermocoupleTheGuardCountsWithHighContact)
{
    HeatPlan plan = trialPlan();
    plan.joints.push_back({2, {0.7, 8, 3}, {0.8, 6, 1}, {0.9, 5, 4}, {}});
    JointEstimate joints(plan);
    EXPECT_FALSE(joints.known());
    joints.start(20);
    ASSERT_TRUE(joints.known());
    for (int n = 1; n <= 100; ++n) {
        joints.advance(0.2, 120); // a step of the plate by 100 K
        const double t = 0.2 * n;
        auto at = [&](const PlateResponse& fit) {
            return 20 + 100 * fit.gain * (1 - std::exp(-t / fit.lagS));
        };
        EXPECT_NEAR(joints.hottestC(), std::max(at(plan.joints[0].high), at({0.9, 5})), 1e-9);
    }
    EXPECT_FALSE(joints.calibrated());
    joints.strip(false);
    EXPECT_FALSE(joints.known()) << "off the plate, the plate says nothing about it";
}

TEST(JointEstimate, BandSpansThePlansContactAndTheSensorsError)
{
    const HeatPlan plan = trialPlan();
    JointEstimate joints(plan);
    joints.start(20);
    for (int n = 0; n < 1000; ++n)
        joints.advance(0.2, 220);
    EXPECT_LT(joints.lowC(), 20 + 200 * plan.joints[0].low.gain);
    EXPECT_GT(joints.highC(), 20 + 200 * plan.joints[0].high.gain);
    EXPECT_NEAR(joints.nominalC(), 20 + 200 * plan.joints[0].nominal.gain, 1);
    // 90 % of a plate known to 2 K and 1 % of the rise.
    const double plateK = 1.645 * plan.joints[0].nominal.gain * std::hypot(2, 0.01 * 200);
    EXPECT_GT(joints.highC() - joints.nominalC(), plateK);
    EXPECT_GT(joints.nominalC() - joints.lowC(), plateK);
    const double contactK = 200 * (plan.joints[0].high.gain - plan.joints[0].low.gain);
    EXPECT_LT(joints.highC() - joints.lowC(), contactK + 3 * plateK);
    // Contact as the sheet states it, as the 5 and 95 %; a fiftieth of the weight lies below.
    EXPECT_NEAR(joints.contact().low, joints.planned().low, 0.1);
    EXPECT_NEAR(joints.contact().median, 1, 0.05);
    EXPECT_NEAR(joints.contact().high, joints.planned().high, 0.2);
}

TEST(JointEstimate, ThermocoupleCalibratesItAndTellsTheContact)
{
    const HeatPlan plan = trialPlan();
    for (const double factor : {1 / 3.0, 1.0, 3.0}) {
        SCOPED_TRACE(factor);
        JointTrial trial(plan, factor);
        trial.rampTo(220, 1.0);
        const bool best = factor > 1; // the better contact is, the less there is to see of it, and to fear
        EXPECT_EQ(trial.joints.calibrated(), !best);
        EXPECT_LT(trial.joints.contact().low, factor * 1.02);
        EXPECT_GT(trial.joints.contact().high, factor * 0.98);
        const double range = std::log(trial.joints.contact().high / trial.joints.contact().low);
        EXPECT_LT(range, std::log(9) * (best ? 0.7 : 0.5));
        EXPECT_LT(trial.joints.lowC(), trial.jointC());
        EXPECT_GT(trial.joints.highC(), trial.jointC());
        EXPECT_NEAR(trial.joints.hottestC(), best ? trial.highContactC() : trial.joints.highC(), 1e-9);
        EXPECT_EQ(trial.joints.widening(), 1);
        // No better than plate and thermocouple together can be.
        const double plateVar = 4 + std::pow(0.01 * 190, 2), sensorVar = 2.25 + std::pow(0.01 * 190, 2);
        const double bestK = 1.645 / std::sqrt(1 / plateVar + 1 / sensorVar);
        EXPECT_GT((trial.joints.highC() - trial.joints.lowC()) / 2, 0.95 * bestK);
        EXPECT_LT((trial.joints.highC() - trial.joints.lowC()) / 2, 1.4 * bestK);
    }
}

TEST(JointEstimate, SixtyKelvinsOfRiseAreNeededToBeCalibrated)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 1);
    trial.rampTo(75, 1.0);
    trial.hold(100);
    EXPECT_FALSE(trial.joints.calibrated());
    trial.rampTo(140, 1.0);
    EXPECT_TRUE(trial.joints.calibrated());
}

TEST(JointEstimate, ThermocoupleIsIgnoredUnlessTheSheetSaysWhereItLies)
{
    HeatPlan plan = trialPlan();
    plan.sheet.stripSensorSite.reset();
    JointTrial trial(plan, 1.0 / 3);
    JointEstimate deaf(plan);
    deaf.start(20);
    for (int n = 0; n < 900; ++n) {
        trial.cycle(1.0);
        deaf.advance(trial.periodS, trial.plateC);
    }
    EXPECT_FALSE(trial.joints.calibrated());
    EXPECT_EQ(trial.joints.nominalC(), deaf.nominalC());
}

TEST(JointEstimate, DropoutOfMoreThanTwoSecondsEndsTheCalibration)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 1);
    trial.rampTo(160, 1.0);
    ASSERT_TRUE(trial.joints.calibrated());
    trial.silent = true;
    trial.hold(1.5);
    EXPECT_TRUE(trial.joints.calibrated());
    trial.hold(1);
    EXPECT_FALSE(trial.joints.calibrated());
    EXPECT_TRUE(trial.had(News::Lost));
    EXPECT_NEAR(trial.joints.hottestC(), trial.highContactC(), 1e-9);
    trial.silent = false;
    trial.hold(20);
    EXPECT_TRUE(trial.had(News::Back));
    EXPECT_FALSE(trial.joints.calibrated()) << "it has to be earned again";
}

TEST(JointEstimate, ThermocoupleThatComesOffIsNoticedAndBelievedNoMore)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 1);
    trial.rampTo(160, 1.0);
    ASSERT_TRUE(trial.joints.calibrated());
    const double medianK = trial.joints.nominalC() - trial.jointC();
    trial.offK = [&](double sinceS) { return -(trial.jointC() - 20) * (1 - std::exp(-sinceS / 4)); };
    double leastC = INFINITY;
    for (int n = 0; n < 50; ++n) {
        trial.cycle(0.5);
        leastC = std::min(leastC, trial.joints.nominalC() - trial.jointC());
    }
    EXPECT_TRUE(trial.had(News::FellOff) || trial.had(News::Jumped));
    EXPECT_FALSE(trial.joints.calibrated());
    EXPECT_FALSE(trial.joints.sensorTrusted());
    EXPECT_GT(leastC, medianK - 4) << "it drags the estimate down by less than the plate is uncertain";
    trial.hold(60);
    EXPECT_FALSE(trial.joints.sensorTrusted()) << "a cold end that reads steadily is still off";
}

TEST(JointEstimate, SlowlyLiftingThermocoupleIsNoticedBelowTheLowContact)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 1);
    trial.rampTo(160, 1.0);
    ASSERT_TRUE(trial.joints.calibrated());
    trial.offK = [](double sinceS) { return -std::min(60.0, 1.0 * sinceS); };
    trial.hold(90);
    EXPECT_TRUE(trial.had(News::FellOff));
    EXPECT_FALSE(trial.joints.calibrated());
}

TEST(JointEstimate, JumpEndsTheCalibrationAndASingleSpikeDoesNot)
{
    const HeatPlan plan = trialPlan();
    JointTrial spiked(plan, 1);
    spiked.rampTo(160, 1.0);
    spiked.offK = [&](double sinceS) { return sinceS < 0.1 ? 40.0 : 0.0; };
    spiked.hold(5);
    EXPECT_TRUE(spiked.joints.calibrated());

    JointTrial jumped(plan, 1);
    jumped.rampTo(160, 1.0);
    ASSERT_TRUE(jumped.joints.calibrated());
    jumped.offK = [](double) { return 12.0; };
    jumped.hold(1);
    EXPECT_TRUE(jumped.had(News::Jumped));
    EXPECT_FALSE(jumped.joints.calibrated());
    EXPECT_NEAR(jumped.joints.hottestC(), jumped.highContactC(), 1e-9);
}

TEST(JointEstimate, ReadingsThatStrayWidenTheBandForTheRestOfTheRun)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 1);
    trial.rampTo(120, 1.0);
    EXPECT_EQ(trial.joints.widening(), 1);
    double widest = 1;
    // Waves that no contact and no offset makes.
    trial.offK = [](double sinceS) { return 9 * std::sin(sinceS / 6); };
    for (int n = 0; n < 900; ++n) {
        trial.cycle(0);
        EXPECT_GE(trial.joints.widening(), widest);
        widest = trial.joints.widening();
    }
    EXPECT_GT(widest, 1.2);
    const double halfK = (trial.joints.highC() - trial.joints.lowC()) / 2;
    EXPECT_GT(halfK, 1.2 * 3);
    trial.offK = nullptr;
    trial.hold(100);
    EXPECT_EQ(trial.joints.widening(), widest);
}

TEST(JointEstimate, HotSideOfAPartIsHighContactUntilCalibrated)
{
    HeatPlan plan = trialPlan();
    plan.parts = {{{StationKind::Lens, 5}, 80, {}, {}, {0.25, 40, 0.5}, {0.28, 35, 0.5}, {0.30, 30, 0.5}}};
    JointEstimate joints(plan);
    joints.start(20);
    for (int n = 0; n < 2000; ++n)
        joints.advance(0.2, 220);
    EXPECT_NEAR(joints.parts()[0].hotC, 20 + 0.30 * 200, 0.01);
    JointTrial trial(plan, 1);
    trial.rampTo(220, 1.0);
    trial.hold(200);
    ASSERT_TRUE(trial.joints.calibrated());
    // The part's own losses are known to a fifth, whatever the thermocouple says.
    EXPECT_GT(trial.joints.parts()[0].hotC, 20 + 0.30 * 200 + 1);
    EXPECT_LT(trial.joints.parts()[0].hotC, 20 + 0.38 * 200);
}

TEST(JointEstimate, ReseatingForgetsWhatWasLearned)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 1.0 / 3);
    trial.rampTo(160, 1.0);
    ASSERT_TRUE(trial.joints.calibrated());
    trial.joints.reseated();
    trial.silent = true;
    trial.cycle(0);
    EXPECT_FALSE(trial.joints.calibrated());
    EXPECT_NEAR(trial.joints.contact().median, 1, 0.05);
}

TEST(JointDraws, PriorWeightsSumToOneAndReachFarBelowLow)
{
    const HeatPlan plan = trialPlan();
    const JointDraws draws(plan.sheet);
    EXPECT_NEAR(draws.logPrior.exp().sum(), 1, 1e-12);
    const double low = contactRangeOf(plan.sheet).low;
    EXPECT_LT(draws.contact[0], 0.1 * low);
    double below = 0;
    for (int k = 0; k < drawCount; ++k)
        below += draws.contact[k] < low ? std::exp(draws.logPrior[k]) : 0;
    EXPECT_NEAR(below, 0.05 + 0.02, 0.01);
    EXPECT_TRUE((normals(7) == normals(7)).all());
    EXPECT_FALSE((normals(7) == normals(8)).any());
}

} // namespace
} // namespace stripwright
