#include "board_plate.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

BoardPlate::BoardPlate(const BenchSheet& truth, const TruthFactors& factors, unsigned seed, bool ownLoop)
    : plant_(truth, factors, 6), figures_(figuresOf(truth.plate, truth.air.ambientC)), ownLoop_(ownLoop),
      shownC_(truth.air.ambientC),
      delayed_(static_cast<size_t>(std::lround(truth.plate.deadTimeS / stepS)), truth.air.ambientC),
      random_(seed)
{
}

void BoardPlate::advance(double dtS)
{
    for (long i = std::lround(dtS / stepS); i > 0; --i) {
        if (ownLoop_)
            ownLoop();
        plant_.advance(stepS, duty_);
        delayed_.push_back(plant_.sensorC());
        shownC_ = std::round((delayed_.front() + noise_(random_)) * 10) / 10;
        delayed_.pop_front();
        ++counter_;
    }
}

// PI by the SIMC rules with the half rule on the element's lag, as a controller on the shelf would be tuned.
void BoardPlate::ownLoop()
{
    const double delayS = std::max(0.5, figures_.deadTimeS + figures_.sensorLagS + figures_.elementLagS / 2);
    const double gain = figures_.heatCapacityJPerK / figures_.powerW / (2 * delayS);
    const double errorK = setpointC_ - shownC_;
    if (!(setpointC_ > 0)) {
        duty_ = integral_ = 0;
        return;
    }
    const double wanted = gain * errorK + integral_;
    duty_ = std::clamp(wanted, 0.0, 1.0);
    if (wanted == duty_ || (wanted > duty_) == (errorK < 0))
        integral_ = std::clamp(integral_ + gain * errorK * stepS / (8 * delayS), 0.0, 1.0);
}

std::optional<PlateReading> BoardPlate::read()
{
    PlateReading reading;
    reading.sensorC = shownC_;
    reading.duty = duty_;
    if (ownLoop_)
        reading.setpointC = setpointC_;
    reading.counter = counter_;
    return reading;
}

bool BoardPlate::setDuty(double duty)
{
    duty_ = duty;
    return true;
}

bool BoardPlate::setSetpointC(double setpointC)
{
    setpointC_ = setpointC;
    return true;
}

bool BoardPlate::heaterOff()
{
    setpointC_ = 0;
    return setDuty(0);
}

bool BoardPlate::setFan(bool on)
{
    plant_.setFan(on);
    return true;
}

bool BoardPlate::setStripLifted(bool lifted)
{
    plant_.setStripOn(!lifted);
    return true;
}

} // namespace stripwright
