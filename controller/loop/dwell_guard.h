#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Ends the heat, whatever the plan says, when the hottest joint's estimate has been above liquidus for as
/// long as the paste allows, or is about to pass the LED body's cap.
class DwellGuard {
public:
    enum class Verdict { Go, DwellReached, BodyCapNear };

    explicit DwellGuard(const HeatPlan& plan);
    Verdict advance(double dtS, double hottestC);

    double aboveLiquidusS() const { return aboveS_; }
    double longestS() const { return longestS_; } ///< Infinite if the paste states none.
    double bodyMaxC() const { return bodyMaxC_; }

private:
    double liquidusC_, longestS_, bodyMaxC_, elementLagS_;
    double aboveS_ = 0, lastC_ = 0;
    bool started_ = false;
};

} // namespace stripwright
