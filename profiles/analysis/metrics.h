#pragma once

#include "analysis/curve.h"

#include <optional>

namespace stripwright {

/// Straight between samples, the ends' values outside. Not for an empty curve.
double valueAt(Curve curve, double atS);

/// Total time at or above a temperature, crossings interpolated [s].
double timeAboveS(Curve curve, double levelC);

/// Highest value, and when it is first reached [°C, s]. An empty curve has none.
struct Peak {
    double atS = 0;
    double valueC = 0;
};
std::optional<Peak> peakOf(Curve curve);

/// First time the curve rises through a level after `fromS` (interpolated), or none.
std::optional<double> firstRiseThrough(Curve curve, double levelC, double fromS = 0);

/// Last time the curve falls through a level (interpolated), or none.
std::optional<double> lastFallThrough(Curve curve, double levelC);

/// Steepest mean slope over any window of this length, sign +1 for rising, -1 for falling [K/s, never
/// negative]. A curve shorter than the window gives its end-to-end slope.
double steepestCPerS(Curve curve, double windowS, int sign);
/// The same of an evenly sampled curve for windows that begin at a sample, many times quicker; 0 if the curve
/// holds none.
double steepestCPerS(std::span<const double> valueC, double stepS, double windowS, int sign);

/// Time from first rise through lowC to first rise through highC; if highC is never reached, to the last fall
/// through lowC, as in a heat that was broken off; else to the end. None if lowC is never reached [s].
std::optional<double> soakTimeS(Curve curve, double lowC, double highC);

/// Mean slope from the peak (a flat one's last moment) to the last fall through liquidus, positive when
/// cooling [K/s].
std::optional<double> meanCoolingCPerS(Curve curve, double liquidusC);

constexpr double slopeWindowS =
    10; ///< Window of every ramp and cooling figure; stated wherever one is shown.

} // namespace stripwright
