#pragma once

#include "interlocks/finding.h"
#include "interlocks/heat_balance.h"

namespace stripwright {

/// Heat is given and does not show: heater open, sensor detached, supply dead.
///
/// Off when less than 35 % of the given heat shows for 4 s (given at least 3/10 of full power), or when 60 s
/// at or near full power bring less than 2 K where the plate should have gained 4 K. Warns when less than
/// 7/10 shows for 10 s.
class NoRise {
public:
    explicit NoRise(const PlateFigures& plate);
    Finding examine(const Observation& seen, const HeatBalance& balance);

private:
    PlateFigures plate_;
    Persistence missing_, weak_;
    bool full_ = false;
    double fullSinceS_ = 0, fullSinceC_ = 0;
};

} // namespace stripwright
