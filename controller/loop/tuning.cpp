#include "loop/tuning.h"

#include <algorithm>

namespace stripwright {

PidGains simcGains(const PlateFigures& plate)
{
    constexpr double shortestDelayS = 0.5; // a plate said to have no lag still has a control period
    const double kPrime = plate.powerW / plate.heatCapacityJPerK;
    const double thetaS = std::max(plate.sensorLagS + plate.deadTimeS, shortestDelayS);
    const double tcS = thetaS;
    const double kc = 1 / (kPrime * (tcS + thetaS)), tauI = 4 * (tcS + thetaS), tauD = plate.elementLagS;
    return {.kPerK = kc * (1 + tauD / tauI), .tiS = tauI + tauD, .tdS = tauI * tauD / (tauI + tauD)};
}

} // namespace stripwright
