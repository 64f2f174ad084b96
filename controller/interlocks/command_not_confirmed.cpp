#include "interlocks/command_not_confirmed.h"

namespace stripwright {

static constexpr double longestS = 0.6;
static constexpr int fewestCycles = 3; // one slow cycle is no refusal

Finding CommandNotConfirmed::examine(const Observation& seen)
{
    const bool ignored = seen.heating && seen.answered && !seen.commandConfirmed;
    cycles_ = ignored ? cycles_ + 1 : 0;
    if (!unconfirmed_.held(ignored, seen.wallS, longestS) || cycles_ < fewestCycles)
        return {};
    return heaterOff(
        Interlock::CommandNotConfirmed,
        "the plate answers but does not take commands (local mode, or another controller on the line?)");
}

} // namespace stripwright
