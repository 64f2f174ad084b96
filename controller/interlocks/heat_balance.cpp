#include "interlocks/heat_balance.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

HeatBalance::HeatBalance(const PlateFigures& plate, double windowS) : plate_(plate), windowS_(windowS) {}

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

std::optional<double> HeatBalance::givenShare() const
{
    constexpr double asGoodAsKnown = 0.02;
    if (!least_.given || !most_.given || !(*most_.given - *least_.given < asGoodAsKnown))
        return {};
    return (*least_.given + *most_.given) / 2;
}

void HeatBalance::update(const Observation& seen)
{
    const double dtS = started_ ? seen.plantS - lastS_ : 0;
    started_ = true;
    lastS_ = seen.plantS;
    give(least_, seen.duty.value_or(0), seen.plantS, dtS);
    give(most_, seen.duty.value_or(1), seen.plantS, dtS);
    shown_.reset();
    arrives_.reset();
    slope_.reset();
    if (!seen.sensorC)
        return;
    readings_.push(seen.plantS, *seen.sensorC);
    slope_ = readings_.slope(windowS_);
    if (!slope_)
        return;
    constexpr double mostLoad = 0.3; // less than what must arrive at full power
    shown_ = (plate_.heatCapacityJPerK * *slope_ + plate_.lossW(*seen.sensorC)) / plate_.powerW;
    arrives_ = *shown_ + std::clamp(seen.loadShare, 0.0, mostLoad);
}

} // namespace stripwright
