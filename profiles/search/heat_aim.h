#pragma once

#include "analysis/limits.h"
#include "search/plate_reference.h"

#include <array>

namespace stripwright {

/// Where the search of a heat's shape starts: what the targets' joints should see.
struct HeatAim {
    double soakLowC = 0, soakHighC = 0, soakS = 0;
    double turnC = 0; ///< The climb through this, liquidus or letting-go, is to be steep.
    double peakC = 0;
    double holdS = 0;          ///< At the peak.
    double rampMaxCPerS = 2.0; ///< Steepest heating.
    double longestSoakS = 60;
};

/// What a strip may take from its plate before the model has been asked: what lies over the plate, and as
/// much again for its fins.
StripDraw roughDraw(const BenchSheet& sheet);

/// Shapes for a search to begin with. The first comes near the aims as a paste is drawn: soak, then climb.
/// The others leave the soak to chance, for the steepest climb: straight up, and after a long stop below it.
std::array<Shape, 3> firstGuesses(const BenchSheet& sheet, const HeatAim& aim, const StripDraw& draw);

} // namespace stripwright
