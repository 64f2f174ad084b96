#include "loop/plate_learnt.h"

#include "loop/follower.h"

#include <algorithm>

namespace stripwright {

PlateLearnt::PlateLearnt(const HeatPlan& plan)
    : plan_(&plan), plate_(figuresOf(plan.sheet.plate, plan.sheet.air.ambientC))
{
}

void PlateLearnt::advance(double stepS, double profileS, double sensorC, const HeatBalance& balance)
{
    constexpr double windowS = 5, misfit = 0.02; // of the heat balance; its values overlap over that time
    constexpr double settleS = 15;               // a cold start is all lag
    if (profileS < settleS || !balance.givenShare() || !balance.slopeCPerS())
        return;
    const auto referenceC = [&](double atS) { return planValue(plan_->timeS, plan_->plateC, atS); };
    const double slopeByPlanCPerS = (referenceC(profileS) - referenceC(profileS - windowS)) / windowS;
    const double middleC = referenceC(profileS - windowS / 2);
    double planned = 0; // duty that made the stretch just seen
    for (int i = 0; i < 5; ++i)
        planned +=
            planValue(plan_->timeS, plan_->duty, profileS - windowS * (i + 0.5) / 5 - plate_.elementLagS) / 5;
    const double strip =
        planned - (plate_.heatCapacityJPerK * slopeByPlanCPerS + plate_.lossW(middleC)) / plate_.powerW;

    const double warming = plate_.heatCapacityJPerK * *balance.slopeCPerS() / plate_.powerW;
    const double losses = plate_.lossW(sensorC) / plate_.powerW;
    const double given = *balance.givenShare() - std::clamp(strip, 0.0, 0.3);
    const double weight = stepS / windowS / (misfit * misfit);
    cc_ += weight * warming * warming;
    cl_ += weight * warming * losses;
    ll_ += weight * losses * losses;
    c_ += weight * warming * given;
    l_ += weight * losses * given;
}

double PlateLearnt::capacityFactor() const
{
    return std::clamp((ll_ * c_ - cl_ * l_) / (cc_ * ll_ - cl_ * cl_), 0.5, 2.0);
}

double PlateLearnt::lossFactor() const
{
    return std::clamp((cc_ * l_ - cl_ * c_) / (cc_ * ll_ - cl_ * cl_), 0.5, 2.0);
}

} // namespace stripwright
