#include "interlocks/command_not_confirmed.h"

#include <algorithm>

namespace stripwright {

static constexpr double longestS = 1.0;
static constexpr double foreignWithinS = 10;
static constexpr double restartSilenceS = 0.35,
                        soonAfterS = 1;    // a plate that restarts says nothing meanwhile
static constexpr int fewestCycles = 3;     // one slow cycle is no refusal
static constexpr int mostRefusals = 1;     // one may be a plate that is busy
static constexpr int fewestUnanswered = 2; // one lost reading is no silence

Finding CommandNotConfirmed::examine(const Observation& seen)
{
    std::optional<bool> ignored; // of a command that got no answer nothing is known
    if (!seen.heating || seen.answered)
        ignored = seen.heating && !seen.commandConfirmed;
    if (ignored)
        cycles_ = *ignored ? cycles_ + 1 : 0;
    if (seen.answered) {
        if (unanswered_ >= fewestUnanswered && lastAnswerS_ && seen.wallS - *lastAnswerS_ > restartSilenceS)
            silentS_ = seen.wallS;
        lastAnswerS_ = seen.wallS;
    }
    unanswered_ = seen.answered ? 0 : unanswered_ + 1;
    if (seen.heating && (seen.foreignWrite || seen.forgotten) && silentS_ &&
        seen.wallS - *silentS_ <= soonAfterS)
        return heaterOff(Interlock::CommandNotConfirmed, "the plate was silent and then had forgotten what "
                                                         "it was told: it has restarted; check its supply");
    if (seen.heating && seen.foreignWrite) {
        foreignS_[2] = foreignS_[1];
        foreignS_[1] = foreignS_[0];
        foreignS_[0] = seen.wallS;
        const double withinS = std::max(foreignWithinS, 1.2 * seen.longestSilenceS);
        if (foreignS_[2] && seen.wallS - *foreignS_[2] <= withinS)
            return heaterOff(Interlock::CommandNotConfirmed,
                             "another controller writes this plate's heat, or somebody changes its settings: "
                             "seen three times in "
                             "%.0f s; disconnect the other master, keep off its keys",
                             withinS);
    }
    if (seen.answered)
        refusals_ = seen.heating && seen.commandRefused ? refusals_ + 1 : 0;
    const bool unconfirmed = unconfirmed_.held(ignored, seen.wallS, longestS) && cycles_ >= fewestCycles;
    if (!unconfirmed && refusals_ <= mostRefusals)
        return {};
    return heaterOff(
        Interlock::CommandNotConfirmed,
        "the plate answers but does not take commands (local mode, or another controller on the line?)");
}

} // namespace stripwright
