#include "interlocks/sensor_fault.h"

#include <cmath>

namespace stripwright {

static constexpr double steepestPlausibleCPerS = 5;
static constexpr double stepAndNoiseK = 1;
static constexpr int badReadingsToTrip = 2;

SensorFault::SensorFault(const PlateFigures& plate) : steepestCPerS_(steepestPlausibleCPerS)
{
    const double byHeater = 2 * plate.powerW / plate.heatCapacityJPerK;
    if (byHeater > steepestCPerS_ && std::isfinite(byHeater))
        steepestCPerS_ = byHeater;
}

std::optional<double> SensorFault::usable(const Observation& seen)
{
    jumped_ = false;
    if (!seen.answered)
        return {};
    if (seen.sensorFault || !seen.sensorC || !std::isfinite(*seen.sensorC)) {
        ++badInARow_;
        return {};
    }
    const double reachK = steepestCPerS_ * (seen.plantS - goodS_) + stepAndNoiseK;
    if (haveGood_ && !(std::abs(*seen.sensorC - goodC_) <= reachK)) {
        // The very first reading may have been the odd one: two that agree against it, before any heat, are
        // right.
        if (goods_ == 1 && badInARow_ == 1 && !seen.heating &&
            std::abs(*seen.sensorC - jumpToC_) <= steepestCPerS_ * (seen.plantS - goodS_) + stepAndNoiseK) {
            badInARow_ = 0;
            goodC_ = *seen.sensorC;
            goodS_ = seen.plantS;
            return goodC_;
        }
        jumped_ = true;
        jumpToC_ = *seen.sensorC;
        ++badInARow_;
        return {};
    }
    badInARow_ = 0;
    haveGood_ = true;
    ++goods_;
    goodC_ = *seen.sensorC;
    goodS_ = seen.plantS;
    return goodC_;
}

Finding SensorFault::examine(const Observation&) const
{
    if (badInARow_ < badReadingsToTrip)
        return {};
    if (jumped_)
        return heaterOff(Interlock::SensorFault,
                         "sensor fault: reading jumped from %.1f to %.1f °C; check the sensor and its plug",
                         goodC_, jumpToC_);
    return heaterOff(Interlock::SensorFault,
                     "sensor fault: the plate reports no valid temperature; check the sensor and its plug");
}

} // namespace stripwright
