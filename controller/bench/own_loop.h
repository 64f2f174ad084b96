#pragma once

#include "materials/shelf.h"

namespace stripwright {

/// The loop inside a plate that is driven by a set-point: PI by the SIMC rules (Skogestad, J. Process Control
/// 13 (2003) 291) for an integrating plate with the half rule on its element lag.
class OwnLoop {
public:
    OwnLoop(const PlateType& plate, double gainFactor);

    double step(double errorK, double dtS); ///< Duty, 0 to 1.
    void rest() { integral_ = 0; }

private:
    double gainPerK_, integralS_, integral_ = 0;
};

} // namespace stripwright
