#include "interlocks/excursion.h"

#include <cmath>

namespace stripwright {

static constexpr double tooFarK = 15, forS = 3, onPathK = 5;

Finding Excursion::examine(const Observation& seen)
{
    if (!seen.heating || !seen.sensorC || !seen.expectedC)
        return {};
    const double errorK = *seen.sensorC - *seen.expectedC;
    onPath_ = onPath_ || std::abs(errorK) <= onPathK;
    if (!above_.held(onPath_ && errorK > tooFarK, seen.plantS, forS))
        return {};
    return heaterOff(Interlock::Excursion, "plate runs away: it reads %.1f °C, %.1f K above its path",
                     *seen.sensorC, errorK);
}

} // namespace stripwright
