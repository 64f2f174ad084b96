#include "interlocks/much_missing.h"

#include <algorithm>

namespace stripwright {

static constexpr double persistS = 1;
static constexpr double weakMains = 0.36;       // of what is given, at a fifth of the voltage less
static constexpr double draughtAndModel = 0.25; // of full power
static constexpr double boardShare = 0.043, boardWarmsInS = 12.5, boardC = 5;

Finding MuchMissing::examine(const Observation& seen, const HeatBalance& quick)
{
    if (plate_.powerW == 0)
        return {}; // nothing is known of this plate: whoever heats it bounds its rise
    std::optional<bool> much = seen.heating ? std::nullopt : std::optional(false);
    if (seen.heating && seen.sensorC && quick.arrivesShare() && quick.givenAtLeast() && quick.unsureShare()) {
        const double boardW =
            boardShare * plate_.heatCapacityJPerK / boardWarmsInS * std::max(0.0, *seen.sensorC - boardC);
        const double explained =
            weakMains * *quick.givenAtLeast() + draughtAndModel + boardW / plate_.powerW + *quick.unsureShare();
        much = !(*quick.givenAtLeast() - *quick.arrivesShare() <= explained);
    }
    if (!missing_.held(much, seen.plantS, persistS))
        return {};
    return heaterOff(
        Interlock::NoRise,
        "no rise: the reading goes by %.1f K/s while %.0f %% of full power is given, as no plate "
        "does; check that the sensor sits on the plate, heater and supply",
        *quick.slopeCPerS(), 100 * *quick.givenAtLeast());
}

} // namespace stripwright
