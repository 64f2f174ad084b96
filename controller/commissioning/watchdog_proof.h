#pragma once

#include "commissioning/output_proofs.h"

namespace stripwright {

struct WatchdogVerdict {
    double provenS = 0;   ///< Silence after which the heater was found cut; 0: it was not.
    std::string refusal;  ///< It was seen to heat on.
    std::string leftOpen; ///< Neither was seen, and what could show it.
};

/// Leaves the line silent under a little heat, and looks whether the plate has cut its heater:
///
///  - at once, by what has changed over the silence: the status bit, or what drives the heater, read back at
///    no heat;
///  - else by its temperature: the same heat once with a silence of over twice the watchdog's time in it and
///    once without. A heater that was cut leaves the plate less warm in the measure of the time it was off.
///    Lags and losses are the same in both, so nothing has to be known of them.
///
/// What neither shows is left open: it is never claimed that a plate heats on, or that it does not. Tells its
/// steps and its proof; nothing in the verdict: the probe was stopped.
WatchdogVerdict proveWatchdog(WatchedProbe& probe, const PlateLink& link, CandidateTable& table,
                              const KnownHeat& heat, Surroundings& around);

} // namespace stripwright
