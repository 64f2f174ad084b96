#include "board_plate.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

BoardPlate::BoardPlate(const BenchSheet& truth, const TruthFactors& factors, unsigned seed,
                       const std::optional<OwnLoopFigures>& ownLoop, bool tellsDuty)
    : plant_(truth, factors, 6), ownLoop_(ownLoop), tellsDuty_(tellsDuty), shownC_(truth.air.ambientC),
      delayed_(static_cast<size_t>(std::lround(truth.plate.deadTimeS / stepS)), truth.air.ambientC),
      random_(seed)
{
}

void BoardPlate::advance(double dtS)
{
    for (long i = std::lround(dtS / stepS); i > 0; --i) {
        if (ownLoop_)
            driveByOwnLoop();
        plant_.advance(stepS, duty_);
        delayed_.push_back(plant_.sensorC());
        shownC_ = std::round((delayed_.front() + noise_(random_)) * 10) / 10;
        delayed_.pop_front();
        ++counter_;
    }
}

void BoardPlate::driveByOwnLoop()
{
    const double errorK = setpointC_ - shownC_;
    if (!(setpointC_ > 0)) {
        duty_ = integral_ = 0;
        return;
    }
    const double wanted = ownLoop_->gainPerK * errorK + integral_;
    duty_ = std::clamp(wanted, 0.0, ownLoop_->mostDuty);
    if (wanted == duty_ || (wanted > duty_) == (errorK < 0))
        integral_ = std::clamp(integral_ + ownLoop_->gainPerK * errorK * stepS / ownLoop_->integralS, 0.0,
                               ownLoop_->mostDuty);
}

std::optional<PlateReading> BoardPlate::read()
{
    PlateReading reading;
    reading.sensorC = shownC_;
    if (tellsDuty_)
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
