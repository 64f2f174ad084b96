#include "interlocks/unexpected_heat.h"

#include <algorithm>

namespace stripwright {

static constexpr double persistS = 4, muchPersistS = 1.5;
static constexpr double excessShare = 0.25,
                        excessOfGiven = 1.25; // less may be strong mains, or a lighter plate
static constexpr double noHeat = 0.05, shownUnasked = 0.15, risingCPerS = 0.1;

Finding UnexpectedHeat::examine(const Observation& seen, const HeatBalance& balance, const HeatBalance& quick)
{
    const std::optional<double> given = balance.givenAtMost(), shown = balance.shownShare();
    std::optional<bool> noneGiven, moreThanGiven;
    if (given && shown && balance.slopeCPerS()) {
        const bool rising = *balance.slopeCPerS() > risingCPerS;
        noneGiven = rising && *given<noHeat&& * shown> shownUnasked;
        moreThanGiven = rising && *shown > excessShare + excessOfGiven * *given;
    }
    const bool unasked = unasked_.held(noneGiven, seen.plantS, persistS);
    const bool excess = excess_.held(moreThanGiven, seen.plantS, persistS);
    std::optional<bool> muchMore;
    // A plate quicker than its model shows sooner what it is told.
    const std::optional<double> told = std::max(quick.toldLately(), quick.givenAtMost()),
                                shownQuickly = quick.shownShare();
    if (told && shownQuickly && quick.unsureShare() && quick.slopeCPerS())
        muchMore = *quick.slopeCPerS() > risingCPerS &&
                   *shownQuickly - *quick.unsureShare() > excessShare + excessOfGiven * *told;
    const bool muchExcess = muchExcess_.held(muchMore, seen.plantS, muchPersistS);
    if (!unasked && !excess && !muchExcess)
        return {};
    const bool slowly = unasked || excess;
    return heaterOff(
        Interlock::UnexpectedHeat,
        "unexpected heat: %.0f %% of full power given, %.0f %% arrives; a relay may be welded shut: pull the "
        "mains plug",
        100 * (slowly ? *given : *told), 100 * (slowly ? *shown : *shownQuickly));
}

} // namespace stripwright
