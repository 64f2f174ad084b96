#pragma once

#include "interlocks/finding.h"
#include "interlocks/heat_balance.h"

namespace stripwright {

/// So much of the given heat is missing that nothing at a bench where all is whole could take it: a sensor
/// that has come off, whose reading falls as no plate does.
///
/// Off when for 1 s more is missing than weak mains, a draught, a plate heavier than its model and a cold
/// board (4.3 % of the plate, warm within 12.5 s) take together.
class MuchMissing {
public:
    explicit MuchMissing(const PlateFigures& plate) : plate_(plate) {}
    /// `quick`: over a short window.
    Finding examine(const Observation& seen, const HeatBalance& quick);

private:
    PlateFigures plate_;
    Persistence missing_;
};

} // namespace stripwright
