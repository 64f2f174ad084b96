#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// Plant seconds of a control cycle of this plate: 0.2, the time between its readings, or a quarter more than
/// its talk takes on a slow serial line. Throws LinkError where that is above 0.8 s: a plate cannot be
/// watched through such a line.
double controlPeriodS(const PlateLink& link, double plantSPerWallS);

} // namespace stripwright
