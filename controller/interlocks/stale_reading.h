#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// The plate answers, but with old news: its update counter stands still for 2 s; or the reading stays the
/// same for 5 s while it should have moved by two of its steps (12 s and four steps of a sensor that is
/// coarse, or has not moved yet), or for 20 s under heat when the sensor is known to show finer steps. Where
/// readings come seldom, not before three answers were the same after the first.
class StaleReading {
public:
    Finding examine(const Observation& seen);

private:
    bool started_ = false;
    std::optional<unsigned> counter_;
    double counterPlantS_ = 0, counterWallS_ = 0;
    int counterAnswers_ = 0, sameAnswers_ = 0; // after the first
    double sensorC_ = 0, sameSinceS_ = 0, smallestStepK_ = 0;
    std::optional<double> expectedThenC_;
};

} // namespace stripwright
