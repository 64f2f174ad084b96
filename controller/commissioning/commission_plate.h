#pragma once

#include "commissioning/surroundings.h"

namespace stripwright {

struct CommissioningJob {
    DraftLink draft;
    SensorWidths widths;
    std::optional<double> plateC; ///< Of the cold plate, by a thermometer.
};

struct CommissioningResult {
    std::optional<PlateLink> link;     ///< None after a refusal or a stop.
    std::vector<std::string> refusals; ///< One sentence each.
    std::string leftOpen;              ///< Why the link is kept although its watchdog is not proven.
    bool stopped = false;              ///< By the operator.
    bool heaterOff = false;            ///< Read back.
};

/// Which registers the sensor gives, one or two at once, over a line of its own. Both if nothing was refused:
/// why nothing answers is for openPlate() to say. Throws LinkError if the host has no address.
SensorWidths widthsOf(const PlateLink& link);

/// Tells what every candidate reads until it is stopped. Writes nothing. Throws LinkError.
void listCandidates(const CommissioningJob& job, Surroundings& around);

/// From a draft to a link that this plate was found to keep, by these steps:
///
///  1. The heat is written off and read back.
///  2. 5 s at rest, then 10 % of the heat (a set-point plate: 10 K above its reading) for 5 s, and up to 60 s
///     for it to arrive. Exactly one candidate must make sense and move.
///  3. With the enable output off the same heat must warm nothing.
///  4. Under that heat the line is left silent for the watchdog's time and a little more: the heater must be
///     found cut (proveWatchdog()). A plate seen to heat on is refused; where nothing tells, it is left open.
///
/// Counter and status bits are watched all the time. Throws LinkError if the plate cannot be opened at first.
CommissioningResult commissionPlate(const CommissioningJob& job, Surroundings& around);

} // namespace stripwright
