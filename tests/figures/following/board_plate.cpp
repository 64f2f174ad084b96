#include "board_plate.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

BoardPlate::BoardPlate(const BenchSheet& truth, const TruthFactors& factors, unsigned seed, const Kind& kind)
    : plant_(truth, factors, 6), kind_(kind), fineC_(truth.air.ambientC), coarseC_(std::round(fineC_)),
      delayed_(static_cast<size_t>(std::lround(truth.plate.deadTimeS / stepS)), truth.air.ambientC),
      random_(seed)
{
}

void BoardPlate::advance(double dtS)
{
    const long everySteps = kind_.coarse ? std::lround(readingEveryS() / stepS) : 1;
    for (long i = std::lround(dtS / stepS); i > 0; --i) {
        if (kind_.ownLoop)
            driveByOwnLoop();
        plant_.advance(stepS, duty_);
        delayed_.push_back(plant_.sensorC());
        fineC_ = std::round((delayed_.front() + noise_(random_)) * 10) / 10;
        delayed_.pop_front();
        if (++steps_ % everySteps == 0) {
            coarseC_ = std::round(fineC_);
            ++counter_;
        }
    }
}

void BoardPlate::driveByOwnLoop()
{
    const OwnLoopFigures& loop = *kind_.ownLoop;
    if (!(setpointC_ > 0)) {
        duty_ = integral_ = 0;
        rampedC_.reset();
        return;
    }
    const double fromC = rampedC_.value_or(fineC_), mostK = loop.rampCPerS.value_or(INFINITY) * stepS;
    rampedC_ = std::clamp(setpointC_, fromC - mostK, fromC + mostK);
    const double errorK = *rampedC_ - fineC_;
    const double wanted = loop.gainPerK * errorK + integral_;
    duty_ = std::clamp(wanted, 0.0, loop.mostDuty);
    if (wanted == duty_ || (wanted > duty_) == (errorK < 0))
        integral_ =
            std::clamp(integral_ + loop.gainPerK * errorK * stepS / loop.integralS, 0.0, loop.mostDuty);
}

std::optional<PlateReading> BoardPlate::read()
{
    PlateReading reading;
    reading.sensorC = shownC();
    if (kind_.tellsDuty)
        reading.duty = duty_;
    if (kind_.ownLoop)
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
