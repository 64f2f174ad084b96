#include "interlocks/stale_reading.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double counterStandsS = 2;
static constexpr double counterStandsWallS =
    0.3; // a fast simulation may lose 2 s of plant time to the scheduler
static constexpr double sameWhileMovingS = 5, coarseWhileMovingS = 12, sameUnderHeatS = 20;
static constexpr double motionK = 1;
static constexpr double fineStepK = 0.25, unknownStepK = 1;
static constexpr double leastDuty = 0.05;
static constexpr int fewestAnswers = 3; // two alike may be one reading, asked for early and then late

Finding StaleReading::examine(const Observation& seen)
{
    if (!seen.answered)
        return {};
    ++counterAnswers_;
    ++sameAnswers_;
    if (!started_ || seen.counter != counter_) {
        counterAnswers_ = 0;
        counter_ = seen.counter;
        counterPlantS_ = seen.plantS;
        counterWallS_ = seen.wallS;
    }
    if (seen.sensorC && (!started_ || *seen.sensorC != sensorC_)) {
        const double stepK = std::abs(*seen.sensorC - sensorC_);
        if (started_)
            smallestStepK_ = smallestStepK_ > 0 ? std::min(smallestStepK_, stepK) : stepK;
        sensorC_ = *seen.sensorC;
        sameAnswers_ = 0;
        sameSinceS_ = seen.plantS;
        expectedThenC_ = seen.expectedC;
        started_ = true;
    }
    if (!seen.heating) {
        sameAnswers_ = 0;
        sameSinceS_ = seen.plantS;
        expectedThenC_ = seen.expectedC;
    }
    if (counter_ && counterAnswers_ >= fewestAnswers && seen.plantS - counterPlantS_ > counterStandsS &&
        seen.wallS - counterWallS_ > counterStandsWallS)
        return heaterOff(
            Interlock::StaleReading,
            "stale reading: the plate's update counter has stood at %u for %.1f s; restart the plate",
            *counter_, seen.plantS - counterPlantS_);

    const double sameS = seen.plantS - sameSinceS_;
    const double duty = seen.duty.value_or(1); // unknown heat is taken for heat
    const bool fine = smallestStepK_ > 0 && smallestStepK_ <= fineStepK;
    // Of one that has not moved yet nobody knows; a plate may be two steps of a coarse sensor behind its
    // path.
    const double stepK = smallestStepK_ > 0 ? smallestStepK_ : unknownStepK;
    const bool shouldMove = expectedThenC_ && seen.expectedC && duty >= leastDuty &&
                            std::abs(*seen.expectedC - *expectedThenC_) >=
                                (fine ? std::max(motionK, 2 * smallestStepK_) : 4 * stepK);
    if (sameAnswers_ < fewestAnswers)
        return {};
    if ((sameS >= (fine ? sameWhileMovingS : coarseWhileMovingS) && shouldMove) ||
        (sameS >= sameUnderHeatS && fine && duty >= leastDuty))
        return heaterOff(
            Interlock::StaleReading,
            "stale reading: the sensor has shown %.1f °C for %.1f s under heat; check the sensor", sensorC_,
            sameS);
    return {};
}

} // namespace stripwright
