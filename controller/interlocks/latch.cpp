#include "interlocks/latch.h"

namespace stripwright {

void Latch::take(const Finding& finding)
{
    if (finding.action != Action::HeaterOff)
        return;
    causeSeen_ = true;
    if (strongest_.action == Action::None || finding.interlock > strongest_.interlock)
        strongest_ = finding;
    if (!firstCycleOver_)
        first_ = strongest_;
}

void Latch::endCycle()
{
    firstCycleOver_ = tripped();
    causeSeenLastCycle_ = causeSeen_;
    causeSeen_ = false;
}

bool Latch::reset()
{
    if (causeSeenLastCycle_)
        return false;
    first_ = strongest_ = {};
    firstCycleOver_ = false;
    return true;
}

} // namespace stripwright
