#pragma once

#include "commissioning/watched_probe.h"

namespace stripwright {

/// What the sensor's step has shown of a plate's heat.
struct KnownHeat {
    double riseK = 0;    ///< By the short heat.
    double dutyS = 0;    ///< Duty times seconds that it took; 0: unknown.
    double arrivalS = 0; ///< From its beginning until the rise was seen.
};

/// Duty, and the set-point as far above the reading, of every step.
constexpr double smallDuty = 0.1, setpointAboveK = 10, shortHeatS = 5;

/// Tells its step and its proof, and returns a refusal; empty: it is proven, or the probe was stopped.
std::string proveEnable(WatchedProbe& probe, const PlateLink& link, CandidateTable& table,
                        const KnownHeat& heat, Surroundings& around);

} // namespace stripwright
