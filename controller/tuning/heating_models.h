#pragma once

#include "interlocks/plate_figures.h"
#include "loop/own_loop_model.h"

#include <functional>
#include <vector>

namespace stripwright {

/// A heating as it was recorded; duty is what the heater got from each time to the next.
struct HeatingRecord {
    std::vector<double> timeS, duty, sensorC;
    std::vector<double>
        setpointC;        ///< Of a plate driven by it: from each time to the next; 0: none, heater off.
    std::optional<double> ownRampCPerS; ///< As OwnLoopFigures::rampCPerS.
    bool dutyTold = true; ///< Else `duty` is no number of this record's, only what a fit makes of it.
};

/// What a loop gave in that heating, from each time to the next; at its end `loop` stands as it does then.
/// `look`: is told what it wanted, without its bounds, and for how long.
std::vector<double> dutyOfLoop(const HeatingRecord& record, OwnLoopModel& loop,
                               const std::function<void(double wanted, double dtS)>& look = {});

/// The reading that plate would have given in that heating, at its times.
std::vector<double> predictedReading(const HeatingRecord& record, const PlateFigures& plate);

/// The reading that plate and loop would have given together. Unlike the duty that a loop makes of the
/// reading as it was, errors do not add up in it, and a search finds its way.
std::vector<double> closedLoopReading(const HeatingRecord& record, const PlateFigures& plate,
                                      const OwnLoopFigures& figures, double longestStepS);

} // namespace stripwright
