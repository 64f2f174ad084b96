#include "loop/solder_evidence.h"

#include <cmath>
#include <numbers>

namespace stripwright {

namespace {

constexpr double shineSdK = 1.5;
constexpr double lateShare = 0.1, slipShare = 0.02;
constexpr double lateOverK = 10; // of which a late mark may be late, as a joint in a ramp gets warmer in 15 s
constexpr double apartS = 5;
constexpr double forgottenAfterS = 240, offsetsForgottenAfterS = 5 * forgottenAfterS;

double normalDensity(double z)
{
    return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
}

double normalShare(double z) // below z
{
    return std::erfc(-z / std::numbers::sqrt2) / 2;
}

/// Of a standard normal that is known to lie above -z: how far its mean moves up.
double hazard(double z)
{
    constexpr double farOut = -30;
    return z < farOut ? -z : normalDensity(z) / normalShare(z);
}

Eigen::Vector4d seenBy(const JointMoment& moment, double gain)
{
    return {gain, gain * moment.plateRiseK, 0, 0};
}

} // namespace

void JointBelief::normalise()
{
    logWeight -= logWeight.maxCoeff();
    weight = logWeight.exp();
    const double sum = weight.sum();
    weight /= sum;
    logWeight -= std::log(sum);
}

SolderEvidence::SolderEvidence(const SolderMelts& melts, double ambientC, size_t targets)
    : melts_(melts), ambientC_(ambientC), said_(targets)
{
}

void SolderEvidence::see(size_t target, SolderSeen seen, const JointMoment& moment)
{
    Said& said = said_[target];
    if (seen == SolderSeen::NotYet) {
        if (said.notYets == 0 || said.sinceCountedS >= apartS) {
            ++said.notYets;
            said.sinceCountedS = 0;
        }
        said.notYetMark = {moment, 0};
        said.liquid = false;
    } else if (!said.liquid) {
        said.liquid = true;
        said.turned = seen == SolderSeen::Turned;
        said.liquidMark = {moment, 0};
    }
    any_ = true;
}

void SolderEvidence::advance(double dtS)
{
    for (Said& said : said_) {
        said.liquidMark.ageS += dtS;
        said.notYetMark.ageS += dtS;
        said.sinceCountedS += dtS;
    }
}

void SolderEvidence::forget()
{
    for (Said& said : said_)
        said.liquid = false, said.notYets = 0;
    any_ = false;
}

double SolderEvidence::condition(JointBelief& belief, const std::vector<double>& gains) const
{
    double right = 1;
    for (size_t i = 0; any_ && i < said_.size(); ++i) {
        if (said_[i].notYets > 0)
            right *= conditionNotYet(belief, said_[i], gains[i]);
        if (said_[i].liquid)
            right *= conditionLiquid(belief, said_[i], gains[i]);
    }
    return right;
}

// What plate and melting point are off by is the same now as when the hands said "not yet".
double SolderEvidence::hope(size_t target, const PerDraw& reachK, double misfitK, double plateRiseK,
                            JointBelief belief, const std::vector<double>& gains) const
{
    for (size_t i = 0; i < said_.size(); ++i) {
        if (said_[i].notYets > 0 && i != target)
            conditionNotYet(belief, said_[i], gains[i]);
        if (said_[i].liquid)
            conditionLiquid(belief, said_[i], gains[i]);
    }
    const Said& said = said_[target];
    const auto shareBelow = [&](double meltsC, const PerDraw& highestK, const JointMoment& moment) {
        const Eigen::Vector4d by = seenBy(moment, gains[target]);
        const double sd = std::sqrt(by.dot(belief.covariance * by) + ownVariance(moment));
        return PerDraw(
            (meltsC - ambientC_ - highestK - (belief.offsets * by).array()).unaryExpr([&](double k) {
                return normalShare(k / sd);
            }));
    };
    const PerDraw never = shareBelow(melts_.lowC, reachK, {.misfitK = misfitK, .plateRiseK = plateRiseK});
    if (said.notYets == 0)
        return 1 - (belief.weight * never).sum();
    const double wrong = std::pow(slipShare, said.notYets);
    const PerDraw notYet = shareBelow(melts_.highC, said.notYetMark.moment.highestK, said.notYetMark.moment);
    const double all = wrong + (1 - wrong) * (belief.weight * notYet).sum();
    return (wrong + (1 - wrong) * (belief.weight * (notYet - never).max(0)).sum()) / all;
}

double SolderEvidence::ownVariance(const JointMoment& moment) const
{
    const double pastySdK = melts_.pastyK / std::sqrt(12.0), reactionK = reactionSdS * moment.risingCPerS;
    return shineSdK * shineSdK + pastySdK * pastySdK + reactionK * reactionK +
           moment.misfitK * moment.misfitK;
}

double SolderEvidence::conditionLiquid(JointBelief& belief, const Said& said, double gain) const
{
    const JointMoment& moment = said.liquidMark.moment;
    const Eigen::Vector4d by = seenBy(moment, gain), covariance = belief.covariance * by;
    const double var = by.dot(covariance) + ownVariance(moment), sd = std::sqrt(var);
    const PerDraw offK = ambientC_ + (belief.offsets * by).array();
    const double kept = std::exp(-said.liquidMark.ageS / forgottenAfterS);
    const bool exact = said.turned && melts_.known();
    PerDraw share = PerDraw::Zero(), right, strayK;
    for (int k = 0; k < drawCount; ++k) {
        const double thenC = moment.riseK[k] + offK[k], highestC = moment.highestK[k] + offK[k];
        strayK[k] = melts_.lowC - thenC;
        // Turned, then; liquid since some time before; a slip.
        double turned = 0;
        if (exact)
            turned = lateOverK * normalDensity(strayK[k] / sd) / sd;
        else if (said.turned)
            turned = normalShare(-strayK[k] / sd) * normalShare((melts_.highC - thenC) / sd);
        const double before = normalShare((highestC - melts_.lowC) / sd);
        const double late = said.turned ? lateShare : 1 - slipShare;
        const double likely = (1 - late - slipShare) * turned + late * before + slipShare;
        share[k] = exact ? (1 - late - slipShare) * turned / likely : 0;
        right[k] = 1 - slipShare / likely;
        belief.logWeight[k] += kept * std::log(likely);
    }
    belief.normalise();
    const double keptOffsets = std::exp(-said.liquidMark.ageS / offsetsForgottenAfterS);
    const Eigen::Vector4d taken = covariance / var;
    belief.offsets += keptOffsets * (share * strayK).matrix() * taken.transpose();
    belief.covariance -= keptOffsets * (share * belief.weight).sum() * taken * covariance.transpose();
    return (right * belief.weight).sum();
}

double SolderEvidence::conditionNotYet(JointBelief& belief, const Said& said, double gain) const
{
    const JointMoment& moment = said.notYetMark.moment;
    const Eigen::Vector4d by = seenBy(moment, gain), covariance = belief.covariance * by;
    const double var = by.dot(covariance) + ownVariance(moment), sd = std::sqrt(var);
    const double wrong = std::pow(slipShare, said.notYets);
    const double kept = std::exp(-said.notYetMark.ageS / forgottenAfterS);
    const PerDraw offK = ambientC_ + (belief.offsets * by).array();
    PerDraw right, moved, narrowed;
    for (int k = 0; k < drawCount; ++k) {
        const double z = (melts_.highC - moment.highestK[k] - offK[k]) / sd;
        const double below = normalShare(z), likely = wrong + (1 - wrong) * below;
        const double rate = hazard(z);
        right[k] = (1 - wrong) * below / likely;
        moved[k] = -right[k] * rate * sd;
        narrowed[k] = right[k] * rate * (rate + z);
        belief.logWeight[k] += kept * std::log(likely);
    }
    belief.normalise();
    const double keptOffsets = std::exp(-said.notYetMark.ageS / offsetsForgottenAfterS);
    const Eigen::Vector4d taken = covariance / var;
    belief.offsets += keptOffsets * moved.matrix() * taken.transpose();
    belief.covariance -= keptOffsets * (narrowed * belief.weight).sum() * taken * covariance.transpose();
    return (right * belief.weight).sum();
}

} // namespace stripwright
