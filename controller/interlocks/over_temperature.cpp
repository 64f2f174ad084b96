#include "interlocks/over_temperature.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double abovePlateMaxK = 15;
static constexpr double withoutAnyLimitC = 60;

static bool isLimit(double valueC)
{
    return std::isfinite(valueC) && valueC > 0;
}

OverTemperature::OverTemperature(double tripAboveC, double plateMaxC, std::optional<double> highestC)
{
    const bool planSays = isLimit(tripAboveC), plateSays = isLimit(plateMaxC);
    limitC_ = planSays && plateSays ? std::min(tripAboveC, plateMaxC + abovePlateMaxK)
              : planSays            ? tripAboveC
              : plateSays           ? plateMaxC
                                    : withoutAnyLimitC;
    limitC_ = std::min(limitC_, hottestEverC);
    if (highestC && isLimit(*highestC))
        limitC_ = std::min(limitC_, *highestC);
}

Finding OverTemperature::examine(const Observation& seen) const
{
    if (!seen.sensorC || *seen.sensorC < limitC_)
        return {};
    return heaterOff(
        Interlock::OverTemperature,
        "over temperature: plate reads %.1f °C, limit %.1f °C; if it goes on rising, pull the mains plug",
        *seen.sensorC, limitC_);
}

} // namespace stripwright
