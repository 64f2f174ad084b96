#include "interlocks/unexpected_heat.h"

namespace stripwright {

static constexpr double persistS = 4;
static constexpr double noHeat = 0.05, shownUnasked = 0.15, risingCPerS = 0.1;

Finding UnexpectedHeat::examine(const Observation& seen, const HeatBalance& balance)
{
    const std::optional<double> given = balance.givenAtMost(), shown = balance.shownShare();
    std::optional<bool> noneGiven, moreThanGiven;
    if (given && shown && balance.slopeCPerS()) {
        const bool rising = *balance.slopeCPerS() > risingCPerS;
        noneGiven = rising && *given<noHeat&& * shown> shownUnasked;
        moreThanGiven = rising && *shown > 0.25 + 1.25 * *given;
    }
    const bool unasked = unasked_.held(noneGiven, seen.plantS, persistS);
    const bool excess = excess_.held(moreThanGiven, seen.plantS, persistS);
    if (!unasked && !excess)
        return {};
    return heaterOff(
        Interlock::UnexpectedHeat,
        "unexpected heat: %.0f %% of full power given, %.0f %% arrives; a relay may be welded shut: pull the "
        "mains plug",
        100 * *given, 100 * *shown);
}

} // namespace stripwright
