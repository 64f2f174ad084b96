#include "interlocks/no_rise.h"

namespace stripwright {

static constexpr double leastGiven = 0.3;
static constexpr double shownToTrip = 0.35, tripAfterS = 4;
static constexpr double shownToWarn = 0.7, warnAfterS = 10;
static constexpr double nearFull = 0.9, fullS = 60, riseK = 2, shouldRiseK = 4;

NoRise::NoRise(const PlateFigures& plate) : plate_(plate) {}

Finding NoRise::examine(const Observation& seen, const HeatBalance& balance)
{
    const double given = balance.givenShare().value_or(0);
    const std::optional<double> shown = balance.shownShare();
    const bool mayBeJudged = seen.heating && given >= leastGiven;
    const auto lessThan = [&](double share) {
        return mayBeJudged && !shown ? std::nullopt : std::optional(mayBeJudged && *shown < share * given);
    };
    if (missing_.held(lessThan(shownToTrip), seen.plantS, tripAfterS))
        return heaterOff(
            Interlock::NoRise,
            "no rise: %.0f %% of full power given, %.0f %% arrives; check heater, supply and that the "
            "sensor sits on the plate",
            100 * given, 100 * *shown);

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
                fullS * (nearFull * plate_.powerW - plate_.lossW(*seen.sensorC)) / plate_.heatCapacityJPerK;
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
    if (weak_.held(lessThan(shownToWarn), seen.plantS, warnAfterS))
        return warning(
            Interlock::HeatBalance,
            "weak heat: %.0f %% of full power given, %.0f %% arrives; low mains, a draught or a cold load?",
            100 * given, 100 * *shown);
    return {};
}

} // namespace stripwright
