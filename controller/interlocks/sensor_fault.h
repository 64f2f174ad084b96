#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"
#include "interlocks/plate_figures.h"

namespace stripwright {

/// No usable reading although the plate answers: the plate reports a fault, or the reading jumps faster than
/// any heat can move it (5 K/s, or twice what the heater can do). One bad reading is dropped; a second in a
/// row turns heat off. A value once called bad is never used.
class SensorFault {
public:
    explicit SensorFault(const PlateFigures& plate);

    /// The reading, if it may be used.
    std::optional<double> usable(const Observation& seen);
    Finding examine(const Observation& seen) const; ///< After usable() of the same cycle.

private:
    double steepestCPerS_;
    bool haveGood_ = false;
    double goodC_ = 0, goodS_ = 0, jumpToC_ = 0;
    int badInARow_ = 0;
    long goods_ = 0;
    bool jumped_ = false;
};

} // namespace stripwright
