#pragma once

#include "interlocks/history.h"
#include "interlocks/plate_figures.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// A point of the plan's curves at profile time, straight lines between points, the ends kept outside.
double planValue(const std::vector<double>& timeS, const std::vector<double>& values, double atS);

/// Moves along a plan in profile time.
///
/// The heat needed at a moment must be sent earlier by the lag of the heating element; the sensor shows the
/// plate later by its own lag and dead time. So feed-forward is read ahead, and the loop compares the reading
/// with what the sensor should show, not with the plate reference.
class Follower {
public:
    Follower(const HeatPlan& plan, const PlateFigures& plate); ///< The plan must outlive this.

    /// Profile time goes on by dtS, or stands still while `frozen`: the plate is saturated and behind.
    void advance(double dtS, bool frozen);

    void skipTo(double profileS) { profileS_ = profileS; }

    double profileS() const { return profileS_; }
    double stretchedS() const { return stretchedS_; }
    double endS() const { return plan_->timeS.back(); }
    double referenceC() const; ///< Plate reference now.
    double referenceC(double aheadS) const;
    double expectedC() const { return expectedC_; } ///< What the sensor should read now.
    double expectedSlopeCPerS() const { return slopeCPerS_; }
    double feedForward() const; ///< Plan duty at this place, 0 to 1.

private:
    const HeatPlan* plan_;
    PlateFigures plate_;
    double plantS_ = 0, profileS_ = 0, stretchedS_ = 0;
    History references_; // by plant time: a stretched plan is seen stretched by the sensor too
    double delayedC_, expectedC_, slopeCPerS_ = 0;
};

} // namespace stripwright
