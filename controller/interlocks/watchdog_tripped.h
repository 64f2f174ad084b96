#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// The plate has cut its heater by its own watchdog while a run asked for heat.
class WatchdogTripped {
public:
    Finding examine(const Observation& seen) const;
};

} // namespace stripwright
