#include "interlocks/watchdog_tripped.h"

namespace stripwright {

Finding WatchdogTripped::examine(const Observation& seen) const
{
    if (!seen.heating || !seen.answered || !seen.watchdogTripped)
        return {};
    return heaterOff(
        Interlock::WatchdogTripped,
        "the plate's own watchdog has cut the heater: it did not hear from the controller in time");
}

} // namespace stripwright
