#pragma once

#include "interlocks/history.h"
#include "interlocks/plate_figures.h"
#include "live/remaining_path.h"

namespace stripwright {

/// A point of the plan's curves at profile time, straight lines between points, the ends kept outside.
double planValue(const std::vector<double>& timeS, const std::vector<double>& values, double atS);

/// Mean of the target joints as the plan has them coldest.
double plannedLeastJointC(const HeatPlan& plan, double profileS);

/// Moves along a plan in profile time.
///
/// The heat needed at a moment must be sent earlier by the lag of the heating element; the sensor shows the
/// plate later by its own lag and dead time. So feed-forward is read ahead, and the loop compares the reading
/// with what the sensor should show, not with the plate reference. Where the plate's figures are not those
/// the plan was made with, its duty is worked out anew from them: (C dr/dt + losses(r))/P in place of the
/// plan's own, at the moment the plate's own element needs it.
class Follower {
public:
    Follower(const HeatPlan& plan, const PlateFigures& plate); ///< The plan must outlive this.

    /// Profile time goes on by dtS times the path's pace times `share`, 0 to 1: 0 stands still.
    void advance(double dtS, double share);

    /// From now on along this way; it must outlive this. Works out nothing and allocates nothing.
    void take(const RemainingPath& path) { path_ = &path; }

    void skipTo(double profileS) { profileS_ = profileS; }

    double profileS() const { return profileS_; }
    double stretchedS() const { return stretchedS_; }
    double endS() const { return plan_->timeS.back(); }
    double referenceC() const; ///< Plate reference now.
    double referenceC(double aheadS) const;
    double hottestAheadC(double untilProfileS) const; ///< Highest plate reference from now on until then.
    double secondsTo(double profileS) const;          ///< At the path's pace, held up by nothing.
    double expectedC() const { return expectedC_; }   ///< What the sensor should read now.
    double expectedSlopeCPerS() const { return slopeCPerS_; }
    double feedForward() const; ///< Duty for this place, 0 to 1.

private:
    size_t placeIndex() const;

    const HeatPlan* plan_;
    const RemainingPath* path_ = nullptr; // none: the plan itself
    PlateFigures plate_;
    std::vector<double> dutyOff_; // to be added to the plan's duty for this plate's figures
    double plantS_ = 0, profileS_ = 0, stretchedS_ = 0;
    History references_; // by plant time: a stretched plan is seen stretched by the sensor too
    double delayedC_, expectedC_, slopeCPerS_ = 0;
};

} // namespace stripwright
