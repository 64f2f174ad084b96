#include "interlocks/watchdog_tripped.h"

namespace stripwright {

Finding WatchdogTripped::examine(const Observation& seen)
{
    const bool underHeat = seen.heating || heated_;
    heated_ = seen.heating;
    if (!seen.answered)
        return {};
    if (!seen.watchdogTripped) {
        stoodBefore_ = false;
        return {};
    }
    if (!underHeat)
        stoodBefore_ = true;
    if (!seen.heating && stoodBefore_)
        return {};
    if (stoodBefore_)
        return warning(Interlock::WatchdogTripped,
                       "the plate's watchdog bit has been set since before this heat: it cannot tell whether "
                       "the plate cuts its heater now; whether heat arrives tells");
    return heaterOff(
        Interlock::WatchdogTripped,
        "the plate's own watchdog has cut the heater: it did not hear from the controller in time");
}

} // namespace stripwright
