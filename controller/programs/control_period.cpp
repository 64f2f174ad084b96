#include "programs/control_period.h"

#include "link/line_time.h"

#include <algorithm>
#include <cstdio>

namespace stripwright {

double controlPeriodS(const PlateLink& link, double plantSPerWallS)
{
    constexpr double room = 1.25, longestS = 0.8;
    if (!link.serial)
        return usualPeriodS(link);
    const double wallS = room * cycleS(link);
    if (wallS > longestS) {
        char text[300];
        std::snprintf(text, sizeof text,
                      "the line %s is too slow: one control cycle takes %.2f s on it, expected at most %.2f "
                      "s; raise the "
                      "baud rate, or name fewer registers in the plate link file",
                      placeOf(link).c_str(), wallS, longestS);
        throw LinkError(text);
    }
    return std::max(usualPeriodS(link), wallS * plantSPerWallS);
}

} // namespace stripwright
