#include "interlocks/heat_balance.h"

#include <cmath>

namespace stripwright {

HeatBalance::HeatBalance(const PlateFigures& plate) : plate_(plate) {}

static double follow(double value, double target, double dtS, double lagS)
{
    return lagS > 0 ? target + (value - target) * std::exp(-dtS / lagS) : target;
}

void HeatBalance::update(const Observation& seen)
{
    const double dtS = started_ ? seen.plantS - lastS_ : 0;
    started_ = true;
    lastS_ = seen.plantS;
    if (seen.duty) {
        element_ = follow(element_, *seen.duty, dtS, plate_.elementLagS);
        sensor_ = follow(sensor_, element_, dtS, plate_.sensorLagS);
        lagged_.push(seen.plantS, sensor_);
        given_ = lagged_.mean(seen.plantS - plate_.deadTimeS - windowS, seen.plantS - plate_.deadTimeS);
    } else {
        lagged_.clear();
        given_.reset();
    }
    shown_.reset();
    slope_.reset();
    if (!seen.sensorC)
        return;
    readings_.push(seen.plantS, *seen.sensorC);
    slope_ = readings_.slope(windowS);
    if (slope_)
        shown_ = (plate_.heatCapacityJPerK * *slope_ + plate_.lossW(*seen.sensorC)) / plate_.powerW;
}

} // namespace stripwright
