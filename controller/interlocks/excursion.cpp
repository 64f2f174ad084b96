#include "interlocks/excursion.h"

#include <cmath>

namespace stripwright {

static constexpr double tooFarK = 15, forS = 3, onPathK = 5;

Finding Excursion::examine(const Observation& seen)
{
    std::optional<bool> tooFar;
    double errorK = 0;
    if (!seen.heating || !seen.expectedC) {
        tooFar = false;
    } else if (seen.sensorC) {
        errorK = *seen.sensorC - *seen.expectedC;
        onPath_ = onPath_ || std::abs(errorK) <= onPathK;
        tooFar = onPath_ && errorK > tooFarK;
    }
    if (!above_.held(tooFar, seen.plantS, forS))
        return {};
    return heaterOff(Interlock::Excursion, "plate runs away: it reads %.1f °C, %.1f K above its path",
                     *seen.sensorC, errorK);
}

} // namespace stripwright
