#pragma once

#include "interlocks/finding.h"
#include "interlocks/heat_balance.h"

namespace stripwright {

/// Without heat, the reading falls faster than any plate cools: its sensor has come off, and the plate is
/// hotter than it reads. Warns.
///
/// For 4 s more goes than 3.5 times the plate's losses and 0.3 K/s: a fan takes 2 to 2.5 times, a cold block
/// less than 3 times.
class FallsTooFast {
public:
    explicit FallsTooFast(const PlateFigures& plate) : plate_(plate) {}
    Finding examine(const Observation& seen, const HeatBalance& balance);
    bool everSeen() const { return everSeen_; }

private:
    PlateFigures plate_;
    Persistence falls_;
    bool everSeen_ = false;
};

} // namespace stripwright
