#include "loop/heat_bounds.h"

#include <algorithm>

namespace stripwright {

void HeatBounds::begin(double plantS, double wallS)
{
    fromPlantS_ = plantS;
    fromWallS_ = wallS;
    hottestC_ = 0;
}

bool HeatBounds::allows(double plantS, double wallS, double plateC)
{
    hottestC_ = std::max(hottestC_, plateC);
    constexpr double strayK = 10; // what a control loop and a sensor may be off
    const double heatedS = std::max(plantS - fromPlantS_, wallS - fromWallS_);
    return heatedS <= (hottestC_ <= bakeMostC + strayK ? longestBakeS : longestHeatS);
}

} // namespace stripwright
