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
    const double heatedS = std::max(plantS - fromPlantS_, wallS - fromWallS_);
    return heatedS <= (hottestC_ <= bakeMostC ? longestBakeS : longestHeatS);
}

} // namespace stripwright
