#include "interlocks/link_lost.h"

namespace stripwright {

static constexpr double longestSilenceS = 1.0;

Finding LinkLost::examine(const Observation& seen)
{
    if (seen.answered || !started_)
        lastAnswerS_ = seen.wallS;
    started_ = true;
    if (seen.wallS - lastAnswerS_ < longestSilenceS)
        return {};
    return heaterOff(
        Interlock::LinkLost,
        "link lost: no valid answer from the plate for %.1f s; check cable, plug and the plate's power",
        seen.wallS - lastAnswerS_);
}

} // namespace stripwright
