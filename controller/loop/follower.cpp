#include "loop/follower.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

double planValue(const std::vector<double>& timeS, const std::vector<double>& values, double atS)
{
    const auto after = std::upper_bound(timeS.begin(), timeS.end(), atS);
    if (after == timeS.begin())
        return values.front();
    if (after == timeS.end())
        return values.back();
    const size_t i = static_cast<size_t>(after - timeS.begin());
    const double share = (atS - timeS[i - 1]) / (timeS[i] - timeS[i - 1]);
    return values[i - 1] + share * (values[i] - values[i - 1]);
}

Follower::Follower(const HeatPlan& plan, const PlateFigures& plate)
    : plan_(&plan), plate_(plate), delayedC_(plan.plateC.front()), expectedC_(plan.plateC.front())
{
    references_.push(0, plan.plateC.front());
}

double Follower::referenceC() const
{
    return referenceC(0);
}

double Follower::referenceC(double aheadS) const
{
    return planValue(plan_->timeS, plan_->plateC, profileS_ + aheadS);
}

double Follower::feedForward() const
{
    const auto after = std::upper_bound(plan_->timeS.begin(), plan_->timeS.end(), profileS_);
    const auto i = std::max<std::ptrdiff_t>(0, after - plan_->timeS.begin() - 1);
    return std::clamp(plan_->duty[static_cast<size_t>(i)], 0.0, 1.0);
}

void Follower::advance(double dtS, bool frozen)
{
    if (!(dtS > 0))
        return;
    plantS_ += dtS;
    if (frozen)
        stretchedS_ += dtS;
    else
        profileS_ = std::min(profileS_ + dtS, endS());
    references_.push(plantS_, referenceC());

    // First-order lag, exact for an input that is straight over the step.
    const double delayedC = references_.at(plantS_ - plate_.deadTimeS).value();
    const double inputSlope = (delayedC - delayedC_) / dtS, lagS = plate_.sensorLagS, before = expectedC_;
    expectedC_ = delayedC;
    if (lagS > 0)
        expectedC_ += -lagS * inputSlope + (before - delayedC_ + lagS * inputSlope) * std::exp(-dtS / lagS);
    slopeCPerS_ = (expectedC_ - before) / dtS;
    delayedC_ = delayedC;
}

} // namespace stripwright
