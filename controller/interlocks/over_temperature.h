#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// Reading at or above the plan's trip temperature, the plate's own highest plus 15 K, or the highest that
/// the plate's link allows, whichever is lowest. A limit that is no positive number counts as missing; with
/// the first two missing nothing may get warmer than 60 °C, and never anything than hottestEverC.
class OverTemperature {
public:
    static constexpr double hottestEverC = 350;

    OverTemperature(double tripAboveC, double plateMaxC, std::optional<double> highestC = {});
    Finding examine(const Observation& seen) const;
    double limitC() const { return limitC_; }

private:
    double limitC_;
};

} // namespace stripwright
