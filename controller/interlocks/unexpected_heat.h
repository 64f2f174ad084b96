#pragma once

#include "interlocks/finding.h"
#include "interlocks/heat_balance.h"

namespace stripwright {

/// Heat shows that was not given: a relay welded shut. Also watched when no run is on.
///
/// Where the plate does not tell what it gives, the most that it may have given counts as given.
///
/// Off when the reading rises by more than 0.1 K/s for 4 s with no heat given and more than 15 % of full
/// power showing, or when more shows than was given plus a quarter of full power plus a quarter of the given,
/// for 4 s; or for 1.5 s over a short window (`quick`), beside what was told lately and beyond what
/// the sensor's steps and noise may make of it.
class UnexpectedHeat {
public:
    Finding examine(const Observation& seen, const HeatBalance& balance, const HeatBalance& quick);

private:
    Persistence unasked_, excess_, muchExcess_;
};

} // namespace stripwright
