#pragma once

#include "analysis/limits.h"

namespace stripwright {

/// Where the search of a heat's shape starts: what the targets' joints should see.
struct HeatAim {
    double soakLowC = 0, soakHighC = 0, soakS = 0;
    double peakC = 0;
    double holdS = 0;          ///< At the peak.
    double rampMaxCPerS = 2.0; ///< Steepest heating.
};

HeatAim heatAimOf(const BenchSheet& sheet, const std::vector<Limit>& limits);

} // namespace stripwright
