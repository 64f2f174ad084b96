#pragma once

#include "analysis/limits.h"
#include "planner/plate_reference.h"

namespace stripwright {

/// Where the search of a heat's shape starts: what the targets' joints should see.
struct HeatAim {
    double soakLowC = 0, soakHighC = 0, soakS = 0;
    double peakC = 0;
    double holdS = 0;          ///< At the peak.
    double rampMaxCPerS = 2.0; ///< Steepest heating.
};

HeatAim heatAimOf(const BenchSheet& sheet, const std::vector<Limit>& limits);

/// What a strip may take from its plate before the model has been asked: what lies over the plate, and as
/// much again for its fins.
StripDraw roughDraw(const BenchSheet& sheet);

/// A shape that comes near the aims, for a search to begin with.
Shape firstGuess(const BenchSheet& sheet, const HeatAim& aim, const StripDraw& draw);

/// Another: no soak, as steep as aim and plate allow, then off.
Shape straightUp(const BenchSheet& sheet, const HeatAim& aim, const StripDraw& draw);

} // namespace stripwright
