#include "joint_trial.h"

#include <cmath>
#include <numbers>
#include <random>

namespace stripwright {
namespace {

double density(double z)
{
    return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
}

double below(double z)
{
    return std::erfc(-z / std::numbers::sqrt2) / 2;
}

struct Moments {
    double mean = 0, sd = 0;
};

/// Of a normal joint temperature under a likelihood, by adding up.
template <class Likelihood> Moments by(double meanC, double sd, Likelihood likelihood)
{
    double sum = 0, first = 0, second = 0;
    for (double z = -8; z <= 8; z += 0.001) {
        const double jointC = meanC + sd * z, weight = density(z) * likelihood(jointC);
        sum += weight;
        first += weight * jointC;
        second += weight * jointC * jointC;
    }
    return {first / sum, std::sqrt(second / sum - first * first / (sum * sum))};
}

/// All draws alike, so that the plate's offset is all that is not known: 2 K and 1 % of 100 K, gain 1.
struct OneJoint {
    static constexpr double meltsC = 138, ambientC = 20, plateRiseK = 100, offsetVar = 4 + 1;
    SolderEvidence evidence{SolderMelts{meltsC, meltsC, 0}, ambientC, 1};
    JointBelief belief;

    OneJoint()
    {
        belief.logWeight.setConstant(-std::log(double(drawCount)));
        belief.normalise();
        belief.offsets.setZero();
        belief.covariance = Eigen::Vector4d{4, 1e-4, 2.25, 1e-4}.asDiagonal();
    }
    Moments after(SolderSeen seen, double jointC)
    {
        const PerDraw riseK = PerDraw::Constant(jointC - ambientC);
        evidence.see(0, seen, {.riseK = riseK, .highestK = riseK, .plateRiseK = plateRiseK});
        evidence.condition(belief, {1});
        const Eigen::Vector4d seenBy{1, plateRiseK, 0, 0};
        return {jointC + belief.offsets.row(0).dot(seenBy),
                std::sqrt(seenBy.dot(belief.covariance * seenBy))};
    }
};

TEST(SolderEvidence, TurnedIsAReadingOfTheMeltingPointToOneAndAHalfKelvin)
{
    for (const double offK : {-3.0, -1.0, 0.0, 1.0, 3.0}) {
        SCOPED_TRACE(offK);
        OneJoint joint;
        const Moments found = joint.after(SolderSeen::Turned, OneJoint::meltsC + offK);
        const Moments truth = by(OneJoint::meltsC + offK, std::sqrt(OneJoint::offsetVar), [](double jointC) {
            return 0.88 * 10 * density((jointC - OneJoint::meltsC) / 1.5) / 1.5 +
                   0.1 * below((jointC - OneJoint::meltsC) / 1.5) + 0.02;
        });
        EXPECT_NEAR(found.mean, truth.mean, 0.35);
        EXPECT_NEAR(found.sd, truth.sd, 0.2);
        EXPECT_LT(found.sd, 1.5);
    }
}

TEST(SolderEvidence, NotYetCutsOffWhatIsAboveTheMeltingPoint)
{
    for (const double offK : {-4.0, 0.0, 2.0}) {
        SCOPED_TRACE(offK);
        OneJoint joint;
        const Moments found = joint.after(SolderSeen::NotYet, OneJoint::meltsC + offK);
        const Moments truth = by(OneJoint::meltsC + offK, std::sqrt(OneJoint::offsetVar), [](double jointC) {
            return 0.02 + 0.98 * below((OneJoint::meltsC - jointC) / 1.5);
        });
        EXPECT_NEAR(found.mean, truth.mean, 0.15);
        EXPECT_NEAR(found.sd, truth.sd, 0.15);
    }
}

TEST(SolderEvidence, WasLiquidSaysNothingOfAJointThatIsHotAnyway)
{
    OneJoint hot;
    const Moments found = hot.after(SolderSeen::WasLiquid, OneJoint::meltsC + 30);
    EXPECT_NEAR(found.mean, OneJoint::meltsC + 30, 1e-6);
    EXPECT_NEAR(found.sd, std::sqrt(OneJoint::offsetVar), 1e-6);
}

TEST(SolderEvidence, FadesOverFourMinutes)
{
    // Two kinds of draws, one far too hot for "not yet".
    const auto shareOfCold = [](double ageS) {
        SolderEvidence evidence(SolderMelts{138, 138, 0}, 20, 1);
        JointBelief belief;
        belief.logWeight.setConstant(-std::log(double(drawCount)));
        belief.normalise();
        belief.offsets.setZero();
        belief.covariance.setZero();
        PerDraw riseK = PerDraw::Constant(80);
        riseK.tail(drawCount / 2).setConstant(160);
        evidence.see(0, SolderSeen::NotYet, {.riseK = riseK, .highestK = riseK});
        evidence.advance(ageS);
        evidence.condition(belief, {1});
        return belief.weight.head(drawCount / 2).sum();
    };
    EXPECT_NEAR(shareOfCold(0), 1 / 1.02, 1e-6);
    EXPECT_NEAR(shareOfCold(240), 1 / (1 + std::pow(0.02, std::exp(-1))), 1e-6);
    EXPECT_NEAR(shareOfCold(5000), 0.5, 0.01);
}

HeatPlan markedPlan(double meltsC = 183)
{
    HeatPlan plan = trialPlan();
    plan.sheet.stripSensorSite.reset();
    plan.sheet.paste.alloy.solidusC = plan.sheet.paste.alloy.liquidusC = meltsC;
    return plan;
}

double halfWidthK(const JointEstimate& joints)
{
    return (joints.highC() - joints.lowC()) / 2;
}

TEST(JointEstimate, AMarkNarrowsTheBandAndTheBandHoldsTheTruth)
{
    std::mt19937 random(7);
    std::normal_distribution<double> normal;
    std::uniform_real_distribution<double> reaction(0.5, 2);
    const HeatPlan plan = markedPlan();
    constexpr int trials = 150;
    int inside = 0, marked = 0;
    double beforeK = 0, afterK = 0;
    for (int n = 0; n < trials; ++n) {
        JointEstimate joints(plan), deaf(plan);
        const double factor = std::exp(std::log(3) / 1.645 * normal(random));
        const double gain = 1 / (1 + 0.04 / factor), lagS = 6 * gain / factor;
        const double offsetK = 2 * normal(random), share = 0.01 * normal(random);
        const double meltsC = 183 + 1.5 * normal(random), lateS = reaction(random);
        joints.start(20);
        deaf.start(20);
        double readC = 20, riseK = 0, sinceS = -1;
        bool said = false;
        const auto cycle = [&](double rampCPerS) {
            readC += 0.2 * rampCPerS;
            const double aimK = gain * ((readC - 20) * (1 + share) + offsetK);
            riseK = aimK + (riseK - aimK) * std::exp(-0.2 / lagS);
            joints.advance(0.2, readC);
            deaf.advance(0.2, readC);
            if (sinceS < 0 && 20 + riseK >= meltsC)
                sinceS = 0;
            else if (sinceS >= 0)
                sinceS += 0.2;
            if (!said && sinceS >= lateS) {
                joints.mark(0, SolderSeen::Turned);
                said = true;
            }
        };
        while (readC < 220)
            cycle(0.7);
        for (double s = 0; s < 30; s += 0.2)
            cycle(0);
        if (!said)
            continue;
        ++marked;
        inside += joints.lowC() <= 20 + riseK && 20 + riseK <= joints.highC();
        beforeK += halfWidthK(deaf);
        afterK += halfWidthK(joints);
    }
    ASSERT_GT(marked, 0.95 * trials);
    EXPECT_GT(inside, 0.87 * marked);
    EXPECT_LT(inside, 0.99 * marked);
    EXPECT_LT(afterK, 0.75 * beforeK);
    // No better than the melting point is known.
    EXPECT_GT(afterK / marked, 1.645 * 1.5);
    RecordProperty("inside_percent", std::to_string(100.0 * inside / marked));
    std::printf("%.1f %% inside, half width %.2f K, without the mark %.2f K\n", 100.0 * inside / marked,
                afterK / marked, beforeK / marked);
}

struct Warmed {
    HeatPlan plan;
    JointEstimate joints;

    explicit Warmed(const HeatPlan& of) : plan(of), joints(plan)
    {
        joints.start(20);
        for (double plateC = 20; plateC < 220; plateC += 0.14)
            joints.advance(0.2, plateC);
        pass(30);
    }
    void pass(double forS)
    {
        for (double s = 0; s < forS; s += 0.2)
            joints.advance(0.2, 220);
    }
};

TEST(JointEstimate, NotYetLetsTheTailOfAnUnseatedStripShow)
{
    Warmed warmed(markedPlan());
    JointEstimate& joints = warmed.joints;
    EXPECT_GT(joints.lowC(), 183) << "as planned it has melted by now, whatever the contact";
    EXPECT_GT(joints.reach(220, 0).hope, 0.95);
    joints.mark(0, SolderSeen::NotYet);
    EXPECT_FALSE(joints.marksBelieved()) << "it may be a slip";
    EXPECT_LT(joints.lowC(), 183);
    EXPECT_GT(joints.highC(), 183);
    EXPECT_GT(joints.reach(220, 0).hope, 0.1);
    joints.mark(0, SolderSeen::NotYet);
    EXPECT_FALSE(joints.marksBelieved()) << "said twice at once is said once";
    warmed.pass(6);
    joints.mark(0, SolderSeen::NotYet);
    EXPECT_TRUE(joints.marksBelieved());
    EXPECT_LT(joints.contact().median, joints.planned().low);
    EXPECT_LT(joints.highC(), 185);
    // Nothing is left to get warmer, or a lot.
    EXPECT_LT(joints.reach(220, 0).hope, 0.05);
    EXPECT_LT(joints.reach(220, 0).medianC, 183);
    EXPECT_GT(joints.reach(240, 60).hope, 0.3);
    EXPECT_GT(joints.reach(500, 300).hope, 0.9);
}

TEST(JointEstimate, LiquidTakesTheTailAway)
{
    Warmed warmed(markedPlan(200));
    warmed.joints.mark(0, SolderSeen::NotYet);
    const double tailC = warmed.joints.lowC();
    EXPECT_LT(tailC, 185);
    warmed.pass(6);
    warmed.joints.mark(0, SolderSeen::WasLiquid);
    EXPECT_GT(warmed.joints.lowC(), tailC + 10);
    EXPECT_GT(warmed.joints.highC(), 200);
    EXPECT_FALSE(warmed.joints.marksBelieved()) << "one of the two was a slip, or has not";
}

TEST(SolderEvidence, HopeIsTheShareOfJointsThatAMarkLeavesAndTheRestOfTheHeatMelts)
{
    // One joint, only the plate's offset unknown: below 138 °C now, and 2 K warmer in the end.
    SolderEvidence evidence(SolderMelts{138, 138, 0}, 20, 1);
    JointBelief belief;
    belief.logWeight.setConstant(-std::log(double(drawCount)));
    belief.normalise();
    belief.offsets.setZero();
    belief.covariance = Eigen::Vector4d{4, 1e-4, 2.25, 1e-4}.asDiagonal();
    const double nowC = 137, endC = 139;
    const PerDraw nowK = PerDraw::Constant(nowC - 20), endK = PerDraw::Constant(endC - 20);
    EXPECT_NEAR(evidence.hope(0, endK, 0, 100, belief, {1}),
                below((endC - 138) / std::hypot(1.5, std::sqrt(5))), 1e-9);
    evidence.see(0, SolderSeen::NotYet, {.riseK = nowK, .highestK = nowK, .plateRiseK = 100});
    std::mt19937 random(3);
    std::normal_distribution<double> normal;
    long notYet = 0, melts = 0;
    for (int n = 0; n < 400'000; ++n) {
        const double offK = std::sqrt(5) * normal(random), meltsC = 138 + 1.5 * normal(random);
        const bool slip = random() % 50 == 0, cold = nowC + offK < meltsC;
        if (!slip && !cold)
            continue;
        ++notYet;
        melts += slip || endC + offK >= meltsC;
    }
    EXPECT_NEAR(evidence.hope(0, endK, 0, 100, belief, {1}), double(melts) / double(notYet), 0.01);
}

TEST(JointEstimate, NotYetTakesLiquidBack)
{
    const HeatPlan plan = markedPlan();
    Warmed first(plan), second(plan);
    first.joints.mark(0, SolderSeen::Turned);
    EXPECT_TRUE(first.joints.evidence().saidLiquid(0));
    first.joints.mark(0, SolderSeen::NotYet);
    second.joints.mark(0, SolderSeen::NotYet);
    EXPECT_FALSE(first.joints.evidence().saidLiquid(0));
    EXPECT_EQ(first.joints.lowC(), second.joints.lowC());
    EXPECT_EQ(first.joints.highC(), second.joints.highC());
}

TEST(JointEstimate, AMarkNeverMakesTheGuardsCountWithAColderJoint)
{
    Warmed warmed(markedPlan());
    const double before = warmed.joints.hottestC();
    for (int n = 0; n < 3; ++n) {
        warmed.joints.mark(0, SolderSeen::NotYet);
        warmed.pass(6);
        EXPECT_GE(warmed.joints.hottestC(), before);
    }
    EXPECT_FALSE(warmed.joints.calibrated());
}

TEST(JointEstimate, OfAnUnknownAlloyAMarkSaysOnlyThatItIsOneThatIsMetWith)
{
    HeatPlan plan = markedPlan();
    plan.sheet.heat = HeatKind::Swap;
    plan.sheet.oldAlloy.reset();
    Warmed warmed(plan);
    const double lowC = warmed.joints.lowC(), highC = warmed.joints.highC();
    warmed.joints.mark(0, SolderSeen::Turned);
    EXPECT_GE(warmed.joints.lowC(), lowC) << "joints far too cold for any";
    EXPECT_LT(warmed.joints.lowC(), lowC + 5);
    EXPECT_NEAR(warmed.joints.highC(), highC, 2);
    warmed.joints.mark(0, SolderSeen::NotYet);
    EXPECT_NEAR(warmed.joints.lowC(), lowC, 3) << "it may be one that melts at 227 °C";
}

TEST(JointEstimate, ReseatingForgetsMarksToo)
{
    Warmed warmed(markedPlan());
    warmed.joints.mark(0, SolderSeen::NotYet);
    warmed.joints.reseated();
    EXPECT_FALSE(warmed.joints.marked());
    warmed.pass(0.2);
    EXPECT_NEAR(warmed.joints.contact().median, 1, 0.05);
}

} // namespace
} // namespace stripwright
