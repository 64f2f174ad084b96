#pragma once

#include "interlocks/plate_figures.h"
#include "loop/pid.h"

namespace stripwright {

/// Gains for a plate from its figures: a ramp model k' = P/C per second and duty with lag tau2 = element lag
/// and delay theta = sensor lag + dead time, closed-loop time constant theta (S. Skogestad, J. Process
/// Control 13 (2003) 291):
///
///     Kc = 1/(k' (tc + theta)),  tauI = 4 (tc + theta),  tauD = tau2
///
/// turned from the series form of that rule into the parallel form of Pid.
PidGains simcGains(const PlateFigures& plate);

} // namespace stripwright
