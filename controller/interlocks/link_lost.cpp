#include "interlocks/link_lost.h"

namespace stripwright {

static constexpr double tooManyFail = 0.5, manyFail = 0.2;
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
    if (seen.failedShare >= tooManyFail)
        return heaterOff(Interlock::LinkLost,
                         "the line to the plate is too poor: %.0f %% of the last answers were lost or "
                         "damaged; check cable, "
                         "plug and shield",
                         100 * seen.failedShare);
    if (seen.wallS - lastAnswerS_ < seen.longestSilenceS) {
        if (seen.failedShare < manyFail || poorSaid_)
            return {};
        poorSaid_ = true;
        return warning(
            Interlock::LinkLost,
            "a poor line to the plate: %.0f %% of the last answers were lost or damaged; check cable, "
            "plug and shield",
            100 * seen.failedShare);
    }
    return heaterOff(
        Interlock::LinkLost,
        "link lost: no valid answer from the plate for %.1f s; check cable, plug and the plate's power",
        seen.wallS - lastAnswerS_);
}

} // namespace stripwright
