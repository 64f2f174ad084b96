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

double plannedLeastJointC(const HeatPlan& plan, double profileS)
{
    double sum = 0;
    int count = 0;
    for (const PlanCurve& curve : plan.curves)
        for (const JointModel& joint : plan.joints)
            if (curve.station == jointOf(joint.site)) {
                sum += planValue(plan.timeS, curve.lowC, profileS);
                ++count;
            }
    return count > 0 ? sum / count : -INFINITY;
}

Follower::Follower(const HeatPlan& plan, const PlateFigures& plate)
    : plan_(&plan), plate_(plate), delayedC_(plan.plateC.front()), expectedC_(plan.plateC.front())
{
    references_.push(0, plan.plateC.front());
    const PlateFigures planned = figuresOf(plan.sheet.plate, plan.sheet.air.ambientC);
    const auto planDuty = [&](double atS) { return std::max(0.0, planValue(plan.timeS, plan.duty, atS)); };
    for (size_t i = 0; i < plan.timeS.size(); ++i) {
        const double atS = plan.timeS[i] + plate.elementLagS;
        const auto referenceC = [&](double s) {
            return planValue(plan.timeS, plan.plateC, std::min(s, plan.heaterOffS));
        };
        const double slopeCPerS = referenceC(atS + 0.5) - referenceC(atS - 0.5);
        const double levelC = referenceC(atS);
        const double shifted = plate.elementLagS == planned.elementLagS
                                   ? plan.duty[i]
                                   : planDuty(plan.timeS[i] + plate.elementLagS - planned.elementLagS);
        // Written so that it is 0 exactly for the plan's own figures.
        const double moreW = (plate.heatCapacityJPerK - planned.heatCapacityJPerK) * slopeCPerS +
                             plate.lossW(levelC) - planned.lossW(levelC);
        const double off =
            (shifted - plan.duty[i]) + shifted * (planned.powerW / plate.powerW - 1) + moreW / plate.powerW;
        dutyOff_.push_back(plan.timeS[i] < plan.heaterOffS ? off : 0);
    }
}

double Follower::referenceC() const
{
    return referenceC(0);
}

double Follower::referenceC(double aheadS) const
{
    return planValue(plan_->timeS, path_ ? path_->plateC : plan_->plateC, profileS_ + aheadS);
}

double Follower::hottestAheadC(double untilProfileS) const
{
    const std::vector<double>& plateC = path_ ? path_->plateC : plan_->plateC;
    double hottestC = referenceC();
    for (size_t i = placeIndex() + 1; i < plateC.size() && plan_->timeS[i] <= untilProfileS; ++i)
        hottestC = std::max(hottestC, plateC[i]);
    return hottestC;
}

double Follower::secondsTo(double profileS) const
{
    double seconds = 0, fromS = profileS_;
    for (size_t i = placeIndex(); i + 1 < plan_->timeS.size() && fromS < profileS; ++i) {
        const double toS = std::min(profileS, plan_->timeS[i + 1]);
        seconds += std::max(0.0, toS - fromS) / (path_ ? path_->pace[i] : 1);
        fromS = std::max(fromS, toS);
    }
    return seconds;
}

size_t Follower::placeIndex() const
{
    const auto after = std::upper_bound(plan_->timeS.begin(), plan_->timeS.end(), profileS_);
    return static_cast<size_t>(std::max<std::ptrdiff_t>(0, after - plan_->timeS.begin() - 1));
}

double Follower::feedForward() const
{
    const size_t i = placeIndex();
    return std::clamp(path_ ? path_->duty[i] : plan_->duty[i] + dutyOff_[i], 0.0, 1.0);
}

void Follower::advance(double dtS, double share)
{
    if (!(dtS > 0))
        return;
    plantS_ += dtS;
    stretchedS_ += dtS * (1 - share);
    profileS_ = std::min(profileS_ + dtS * share * (path_ ? path_->pace[placeIndex()] : 1), endS());
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
