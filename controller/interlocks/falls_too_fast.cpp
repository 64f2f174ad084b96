#include "interlocks/falls_too_fast.h"

namespace stripwright {

static constexpr double ofLosses = 3.5, besideCPerS = 0.3, persistS = 4;

Finding FallsTooFast::examine(const Observation& seen, const HeatBalance& balance)
{
    std::optional<bool> falls = seen.heating ? std::optional(false) : std::nullopt;
    if (!seen.heating && seen.sensorC && balance.slopeCPerS()) {
        const double lossCPerS = plate_.lossW(*seen.sensorC) / plate_.heatCapacityJPerK;
        falls = -*balance.slopeCPerS() > ofLosses * lossCPerS + besideCPerS;
    }
    if (!falls_.held(falls, seen.plantS, persistS))
        return {};
    everSeen_ = true;
    return warning(
        Interlock::FallsTooFast,
        "the reading falls by %.1f K/s, as no plate cools: has the sensor come off it? Take plate and strip "
        "for hot, whatever it reads",
        -*balance.slopeCPerS());
}

} // namespace stripwright
