#include "interlocks/link_lost.h"

namespace stripwright {

static constexpr double longestSilenceS = 1.0;
static constexpr int mostRefusals = 2; // one may be a plate that is busy

Finding LinkLost::examine(const Observation& seen)
{
    if (seen.answered || !started_)
        lastAnswerS_ = seen.wallS;
    started_ = true;
    refusals_ = seen.answered ? 0 : refusals_ + seen.refused;
    if (refusals_ > mostRefusals)
        return heaterOff(
            Interlock::LinkLost,
            "the plate answers that it will not be read, %d times in a row; look at its display, and "
            "switch it off and on",
            refusals_);
    if (seen.wallS - lastAnswerS_ < longestSilenceS)
        return {};
    return heaterOff(
        Interlock::LinkLost,
        "link lost: no valid answer from the plate for %.1f s; check cable, plug and the plate's power",
        seen.wallS - lastAnswerS_);
}

} // namespace stripwright
