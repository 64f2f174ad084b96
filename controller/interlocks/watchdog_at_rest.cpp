#include "interlocks/watchdog_at_rest.h"

namespace stripwright {

static constexpr double clearsWithinS = 3;
static constexpr int fewestReadings = 3; // on a slow line

void WatchdogAtRest::look(Plate& plate, const PlateReading& reading, double wallS)
{
    if (mayHeat_ || refusal_)
        return;
    if (!reading.watchdogTripped || !plate.canClearWatchdog()) {
        mayHeat_ = true;
        stands_ = reading.watchdogTripped;
        return;
    }
    ++readings_;
    if (askedWallS_ && wallS - *askedWallS_ > clearsWithinS && readings_ > fewestReadings)
        refusal_ = acknowledged_
                       ? "the plate's watchdog bit stays set although the plate was told to clear it: is "
                         "\"clear_watchdog\" in the plate link file the right register and value?"
                       : "the plate's watchdog bit is set and the plate does not take the write that clears "
                         "it: is \"clear_watchdog\" in the plate link file the right register and value?";
    if (!askedWallS_) {
        askedWallS_ = wallS;
        readings_ = 0;
    }
    if (!acknowledged_ && !refusal_)
        acknowledged_ = plate.clearWatchdog(); // an answer that was lost is no reason to give up
}

} // namespace stripwright
