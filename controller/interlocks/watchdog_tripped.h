#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// The plate has cut its heater by its own watchdog while a run asked for heat.
///
/// A trip is a change, not a leftover: many plates keep the bit set until they are enabled again, or told to
/// clear it. It counts when it goes from clear to set under heat, and when it stands set under heat without
/// having been seen set before. What was read set before the heat began warns once and is not judged until
/// it has been read clear; from then on it counts again.
///
/// A bit that goes on standing hides a new cut. That is then seen by a plate that stands at no heat although
/// heat was confirmed, and says so (CommandNotConfirmed after a silence), or by heat that does not arrive
/// (NoRise, some seconds later): heat is off by itself all that time, so what is late is the word, not the
/// end of heat.
class WatchdogTripped {
public:
    Finding examine(const Observation& seen);

private:
    bool stoodBefore_ = false; // read set before the heat, and not clear since
    bool heated_ = false;      // in the last cycle
};

} // namespace stripwright
