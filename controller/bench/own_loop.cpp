#include "bench/own_loop.h"

#include <algorithm>

namespace stripwright {

OwnLoop::OwnLoop(const PlateType& plate, double gainFactor)
{
    const double rateKPerS = plate.powerW / plate.heatCapacityJPerK;
    const double delayS = std::max(0.5, plate.deadTimeS + plate.sensorLagS + plate.elementLagS / 2);
    gainPerK_ = gainFactor / (rateKPerS * 2 * delayS);
    integralS_ = 8 * delayS;
}

double OwnLoop::step(double errorK, double dtS)
{
    const double wanted = gainPerK_ * errorK + integral_;
    const double duty = std::clamp(wanted, 0.0, 1.0);
    if (wanted == duty || (wanted > duty) == (errorK < 0))
        integral_ = std::clamp(integral_ + gainPerK_ * errorK * dtS / integralS_, 0.0, 1.0);
    return duty;
}

} // namespace stripwright
