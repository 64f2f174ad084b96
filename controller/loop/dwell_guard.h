#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Ends the heat, whatever the plan says, when the hottest joint's estimate has been above liquidus for as
/// long as the paste allows, or is about to pass the LED body's cap; in a heat in which no joint may melt,
/// when it is about to reach what keeps joints solid.
class DwellGuard {
public:
    enum class Verdict { Go, DwellReached, CapNear };

    explicit DwellGuard(const HeatPlan& plan);
    Verdict advance(double dtS, double hottestC);

    double aboveLiquidusS() const { return aboveS_; }
    double longestS() const { return longestS_; } ///< Infinite if the paste states none.
    const char* capName() const { return mayMelt_ ? "LED body limit" : "joints stay solid below"; }
    double capC() const { return capC_; } ///< The LED body's, or lower, the joint's.

private:
    double liquidusC_, longestS_, capC_, elementLagS_;
    double aboveS_ = 0, lastC_ = 0;
    bool started_ = false, mayMelt_ = true;
};

} // namespace stripwright
