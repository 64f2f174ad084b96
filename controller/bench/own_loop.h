#pragma once

#include "materials/shelf.h"

namespace stripwright {

/// The loop inside a plate that is driven by a set-point, by the law of OwnLoopFigures, its derivative
/// through a first-order filter of an eighth of derivativeS.
class OwnLoop {
public:
    OwnLoop(const OwnLoopFigures& figures, double everyS); ///< Sample period > 0.

    /// Duty, 0 to mostDuty, after dtS more: worked out anew once a sample period, held in between.
    double step(double setpointC, double readingC, double dtS);
    void rest(); ///< It is switched off: integral and derivative are forgotten.

private:
    double worked(double setpointC, double readingC, double dtS);

    OwnLoopFigures figures_;
    double everyS_, sinceS_ = 0;
    bool due_ = true; // at the next step, whatever its period
    double integral_ = 0, derivative_ = 0, duty_ = 0;
    std::optional<double> lastC_;
};

/// PI by the SIMC rules (Skogestad, J. Process Control 13 (2003) 291) for an integrating plate with the half
/// rule on its element lag.
OwnLoopFigures simcOwnLoop(const PlateType& plate);

} // namespace stripwright
