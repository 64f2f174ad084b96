#pragma once

#include "interlocks/heat_balance.h"
#include "live/remaining_path.h"

namespace stripwright {

/// Learns during a run what the plate takes to get warmer and to stay warm, as factors of the plan's figures:
///
///     duty P - strip = capacityFactor C dT/dt + lossFactor losses(T)
///
/// by least squares from the heat balance, with the factors held at 1 by a standard deviation of 0.15 each
/// until the run says more. What the strip takes is the plan's. Weak mains show as both factors above 1.
class PlateLearnt {
public:
    PlateLearnt() = default;
    explicit PlateLearnt(const HeatPlan& plan); ///< The plan must outlive this.

    void advance(double stepS, double profileS, double sensorC, const HeatBalance& balance);
    double capacityFactor() const;
    double lossFactor() const;

private:
    static constexpr double prior = 1 / (0.15 * 0.15);
    const HeatPlan* plan_ = nullptr;
    PlateFigures plate_;
    // Normal equations about the prior: [cc cl; cl ll] x = [c; l]
    double cc_ = prior, cl_ = 0, ll_ = prior, c_ = prior, l_ = prior;
};

} // namespace stripwright
