#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// How long a plate may be heated whatever a plan says. A heat that melts anything takes minutes; a bake
/// takes hours, and is planned to stay below bakeMostC.
constexpr double longestHeatS = 3600, longestBakeS = 13 * 3600, bakeMostC = 160;
constexpr double longestCoolingS = 4 * 3600; ///< Of a plan's curves, after its heat.

/// Counts heat by the plate's clock and by the wall's, whichever runs faster.
class HeatBounds {
public:
    void begin(double plantS, double wallS);
    /// `plateC` as last read. False: heat must end.
    bool allows(double plantS, double wallS, double plateC);

private:
    double fromPlantS_ = 0, fromWallS_ = 0, hottestC_ = 0;
};

} // namespace stripwright
