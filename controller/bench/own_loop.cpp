#include "bench/own_loop.h"

#include <algorithm>

namespace stripwright {

static constexpr double filterPart = 8;

OwnLoopFigures simcOwnLoop(const PlateType& plate)
{
    const double rateKPerS = plate.powerW / plate.heatCapacityJPerK;
    const double delayS = std::max(0.5, plate.deadTimeS + plate.sensorLagS + plate.elementLagS / 2);
    return {.gainPerK = 1 / (rateKPerS * 2 * delayS), .integralS = 8 * delayS, .cutAfterS = {}};
}

OwnLoop::OwnLoop(const OwnLoopFigures& figures, double everyS) : figures_(figures), everyS_(everyS) {}

void OwnLoop::rest()
{
    integral_ = derivative_ = duty_ = 0;
    lastC_.reset();
    due_ = true; // it answers to the next set-point at once
}

double OwnLoop::step(double setpointC, double readingC, double dtS)
{
    sinceS_ += dtS;
    if (due_ || sinceS_ >= everyS_ - 1e-9) {
        duty_ = worked(setpointC, readingC, due_ ? everyS_ : sinceS_);
        sinceS_ = 0;
        due_ = false;
    }
    return duty_;
}

double OwnLoop::worked(double setpointC, double readingC, double dtS)
{
    if (figures_.derivativeS > 0) {
        const double sumS = figures_.derivativeS + filterPart * dtS;
        derivative_ = figures_.derivativeS / sumS * derivative_ - figures_.gainPerK * figures_.derivativeS *
                                                                      filterPart / sumS *
                                                                      (readingC - lastC_.value_or(readingC));
        lastC_ = readingC;
    }
    const double errorK = setpointC - readingC;
    const double wanted = figures_.gainPerK * errorK + integral_ + derivative_;
    const double duty = std::clamp(wanted, 0.0, figures_.mostDuty);
    if (wanted == duty || (wanted > duty) == (errorK < 0))
        integral_ += figures_.gainPerK * errorK * dtS / figures_.integralS;
    return duty;
}

} // namespace stripwright
