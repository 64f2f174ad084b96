#include "interlocks/no_rise.h"

#include <algorithm>
#include <utility>

namespace stripwright {

static constexpr double leastWatched = 0.15, leastGiven = 0.3; // of less a draught may take all
static constexpr double muchGiven = 0.45;                      // of less a cold load may take all for a while
static constexpr double littleUnsure = 0.1;
static constexpr double shownToTrip = 0.35, tripAfterS = 4, tripUnlessFallingAfterS = 6;
static constexpr double comesBackStep = 0.05, waitedForS = 16;
static constexpr double fallsPerS = 0.03, fallsOverS = 2;
static constexpr double shownToWarn = 0.7, warnAfterS = 10;
static constexpr double nearFull = 0.9, fullS = 60, riseK = 2, shouldRiseK = 4;

NoRise::NoRise(const PlateFigures& plate) : plate_(plate) {}

// A cold load takes most at once and then less and less; from an open heater nothing comes back.
bool NoRise::comesBack(double ofGiven, double plantS)
{
    const bool rises = ofGiven > leastOfGiven_ + comesBackStep;
    if (rises || ofGiven < leastOfGiven_)
        leastOfGiven_ = ofGiven;
    return rises && plantS - missingSinceS_ < waitedForS;
}

Finding NoRise::examine(const Observation& seen, const HeatBalance& balance)
{
    const double given = balance.givenAtLeast().value_or(0);
    std::optional<double> arrives = balance.arrivesShare();
    if (const double unsure = balance.unsureShare().value_or(0); arrives && unsure > littleUnsure)
        *arrives += unsure;
    const bool mayBeJudged = seen.heating && given >= leastWatched;
    const auto lessThan = [&](double share) {
        return mayBeJudged && !arrives ? std::nullopt
                                       : std::optional(mayBeJudged && *arrives < share * given);
    };
    const std::optional<bool> missing = lessThan(shownToTrip);
    if (missing == true && !std::exchange(someMissing_, true)) {
        missingSinceS_ = seen.plantS;
        leastOfGiven_ = *arrives / given;
    }
    someMissing_ = someMissing_ && missing != false;
    if (missing == true) {
        ofGiven_.push(seen.plantS, *arrives / given);
        if (comesBack(*arrives / given, seen.plantS))
            missing_.held(false, seen.plantS, tripAfterS);
    }
    // What falls and falls is gone; what has found its bottom may be coming back soon.
    const bool falls = ofGiven_.slope(fallsOverS).value_or(-1) < -fallsPerS;
    const bool gone = missing_.held(missing, seen.plantS,
                                    falls && given >= muchGiven ? tripAfterS : tripUnlessFallingAfterS);
    if (gone && given >= leastGiven)
        return heaterOff(
            Interlock::NoRise,
            "no rise: %.0f %% of full power given, %.0f %% arrives; check heater, supply and that the "
            "sensor sits on the plate",
            100 * given, 100 * *arrives);

    if (!seen.heating || !seen.fullDemand) {
        full_ = false;
    } else if (seen.sensorC) {
        if (!full_) {
            full_ = true;
            fullSinceS_ = seen.plantS;
            fullSinceC_ = *seen.sensorC;
        }
        if (seen.plantS - fullSinceS_ >= fullS) {
            const double gainedK = *seen.sensorC - fullSinceC_;
            const double possibleK =
                fullS * (nearFull * seen.fullShare * plate_.powerW - plate_.lossW(*seen.sensorC)) /
                plate_.heatCapacityJPerK;
            // Written so that a figure that is no number asks for the rise instead of waiving it.
            if (!(gainedK >= riseK) && !(possibleK < shouldRiseK))
                return heaterOff(
                    Interlock::NoRise,
                    "no rise: %.1f K in %.0f s at or near full power; check heater, supply and sensor",
                    gainedK, fullS);
            fullSinceS_ = seen.plantS;
            fullSinceC_ = *seen.sensorC;
        }
    }
    if (weak_.held(lessThan(shownToWarn), seen.plantS, warnAfterS) && given >= leastGiven)
        return warning(
            Interlock::HeatBalance,
            "weak heat: %.0f %% of full power given, %.0f %% arrives; low mains, a draught or a cold load?",
            100 * given, 100 * *arrives);
    return {};
}

} // namespace stripwright
