#include "interlocks/heat_balance.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

HeatBalance::HeatBalance(const PlateFigures& plate, double windowS, double readingEveryS)
    : plate_(plate), windowS_(windowOfReadingsS(windowS, readingEveryS))
{
}

static double follow(double value, double target, double dtS, double lagS)
{
    return lagS > 0 ? target + (value - target) * std::exp(-dtS / lagS) : target;
}

void HeatBalance::give(Given& to, double duty, double plantS, double dtS)
{
    to.element = follow(to.element, duty, dtS, plate_.elementLagS);
    to.sensor = follow(to.sensor, to.element, dtS, plate_.sensorLagS);
    to.lagged.push(plantS, to.sensor);
    to.given = to.lagged.mean(plantS - plate_.deadTimeS - windowS_, plantS - plate_.deadTimeS);
}

// Noise by second differences, which a ramp leaves alone: their variance is six times that of a reading.
void HeatBalance::learnSteps(double sensorC)
{
    constexpr int remembered = 50;
    constexpr double mostK = 1; // more is no noise
    if (lastC_) {
        const double stepK = sensorC - *lastC_;
        if (stepK != 0)
            smallestStepK_ = smallestStepK_ > 0 ? std::min(smallestStepK_, std::abs(stepK)) : std::abs(stepK);
        if (lastStepK_) {
            const double bendK = std::min(std::abs(stepK - *lastStepK_), mostK);
            steps_ = std::min(steps_ + 1, remembered);
            noiseVarianceK2_ += (bendK * bendK / 6 - noiseVarianceK2_) / steps_;
        }
        lastStepK_ = stepK;
    }
    lastC_ = sensorC;
}

// One step in the middle of the window is a slope of 1.5 steps a window, which may be a fifth shorter.
std::optional<double> HeatBalance::unsureShare() const
{
    if (smallestStepK_ == 0)
        return {};
    const double unsureK = std::max(smallestStepK_, 2 * std::sqrt(noiseVarianceK2_));
    return 1.5 * unsureK / (0.8 * windowS_) * plate_.heatCapacityJPerK / plate_.powerW;
}

std::optional<double> HeatBalance::toldLately() const
{
    return told_.mean(lastS_ - plate_.elementLagS - plate_.sensorLagS - plate_.deadTimeS - windowS_, lastS_);
}

std::optional<double> HeatBalance::givenShare() const
{
    constexpr double asGoodAsKnown = 0.02;
    if (!least_.given || !most_.given || !(*most_.given - *least_.given < asGoodAsKnown + 2 * unsure_))
        return {};
    return (*least_.given + *most_.given) / 2;
}

void HeatBalance::update(const Observation& seen)
{
    const double dtS = started_ ? seen.plantS - lastS_ : 0;
    started_ = true;
    lastS_ = seen.plantS;
    unsure_ = seen.dutyUnsure;
    const double most = seen.duty ? std::min(1.0, *seen.duty + seen.dutyUnsure) : 1;
    give(least_, seen.duty ? std::max(0.0, *seen.duty - seen.dutyUnsure) : 0, seen.plantS, dtS);
    give(most_, most, seen.plantS, dtS);
    told_.push(seen.plantS, most);
    shown_.reset();
    arrives_.reset();
    slope_.reset();
    if (!seen.sensorC)
        return;
    learnSteps(*seen.sensorC);
    readings_.push(seen.plantS, *seen.sensorC);
    slope_ = readings_.slope(windowS_);
    if (!slope_)
        return;
    constexpr double mostLoad = 0.3; // less than what must arrive at full power
    shown_ = (plate_.heatCapacityJPerK * *slope_ + plate_.lossW(*seen.sensorC)) / plate_.powerW;
    arrives_ = *shown_ + std::clamp(seen.loadShare, 0.0, mostLoad);
}

} // namespace stripwright
