#pragma once

#include "bench/faults.h"
#include "thermal/powered_plate.h"

namespace stripwright {

/// Cold boards and draughts: what takes heat from the plate besides the strip.
class PlateBurden {
public:
    PlateBurden(const FaultList& faults, double ambientC) : faults_(faults), ambientC_(ambientC) {}

    void act(PoweredPlate& plate, double timeS, double dtS); ///< Before each step of the plate.

private:
    const FaultList& faults_;
    double ambientC_;
    std::optional<double> boardC_; // while one lies there
};

} // namespace stripwright
