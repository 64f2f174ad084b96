#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// Reading at or above the plan's trip temperature, or the plate's own highest plus 15 K if that is lower. A
/// limit that is no positive number counts as missing; with both missing nothing may get warmer than 60 °C.
class OverTemperature {
public:
    OverTemperature(double tripAboveC, double plateMaxC);
    Finding examine(const Observation& seen) const;
    double limitC() const { return limitC_; }

private:
    double limitC_;
};

} // namespace stripwright
