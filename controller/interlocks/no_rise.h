#pragma once

#include "interlocks/finding.h"
#include "interlocks/heat_balance.h"
#include "interlocks/history.h"

namespace stripwright {

/// Heat is given and does not show: heater open, sensor detached, supply dead.
///
/// Off when less than 35 % of the given heat shows for 4 s and less and less does, or for 6 s, once 3/10 of
/// full power is given; or when 60 s at or near full power bring less than 2 K where the plate should have
/// gained 4 K. Warns when less than 7/10 shows for 10 s.
///
/// What the strip should draw counts as arrived, and so does what the steps of a coarse sensor may hide.
/// A share that comes back is a cold load that warms up: it is waited for, 16 s in all.
class NoRise {
public:
    explicit NoRise(const PlateFigures& plate);
    Finding examine(const Observation& seen, const HeatBalance& balance);

private:
    bool comesBack(double ofGiven, double plantS);

    PlateFigures plate_;
    History ofGiven_; // what arrives, while some is missing
    double missingSinceS_ = 0, leastOfGiven_ = 0;
    bool someMissing_ = false;
    Persistence missing_, weak_;
    bool full_ = false;
    double fullSinceS_ = 0, fullSinceC_ = 0;
};

} // namespace stripwright
