#include "loop/joint_estimate.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

JointEstimate::JointEstimate(const HeatPlan& plan) : ambientC_(plan.sheet.air.ambientC)
{
    for (const JointModel& model : plan.joints)
        joints_.push_back({model, ambientC_, ambientC_, ambientC_});
}

static double settled(const JointModel::Fit& fit, double ambientC, double plateC)
{
    return ambientC + fit.gain * (plateC - ambientC);
}

void JointEstimate::start(double plateC)
{
    started_ = true;
    for (Joint& joint : joints_) {
        joint.lowC = settled(joint.model.low, ambientC_, plateC);
        joint.nominalC = settled(joint.model.nominal, ambientC_, plateC);
        joint.highC = settled(joint.model.high, ambientC_, plateC);
    }
}

void JointEstimate::advance(double dtS, double plateC)
{
    if (!started_ || !(dtS > 0))
        return;
    auto follow = [&](double valueC, const JointModel::Fit& fit) {
        const double targetC = settled(fit, ambientC_, plateC);
        return fit.lagS > 0 ? targetC + (valueC - targetC) * std::exp(-dtS / fit.lagS) : targetC;
    };
    for (Joint& joint : joints_) {
        joint.lowC = follow(joint.lowC, joint.model.low);
        joint.nominalC = follow(joint.nominalC, joint.model.nominal);
        joint.highC = follow(joint.highC, joint.model.high);
    }
}

double JointEstimate::lowC() const
{
    double low = INFINITY;
    for (const Joint& joint : joints_)
        low = std::min(low, joint.lowC - joint.model.low.worstErrorK);
    return low;
}

double JointEstimate::nominalC() const
{
    double sum = 0;
    for (const Joint& joint : joints_)
        sum += joint.nominalC;
    return sum / static_cast<double>(joints_.size());
}

double JointEstimate::highC() const
{
    double high = -INFINITY;
    for (const Joint& joint : joints_)
        high = std::max(high, joint.highC + joint.model.high.worstErrorK);
    return high;
}

double JointEstimate::hottestC() const
{
    double hottest = -INFINITY;
    for (const Joint& joint : joints_)
        hottest = std::max(hottest, joint.highC);
    return hottest;
}

} // namespace stripwright
