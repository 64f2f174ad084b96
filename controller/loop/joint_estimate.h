#pragma once

#include "interlocks/plate_figures.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// Temperature of the target joints from the plate's reading, by the plan's first-order models. Uncalibrated:
/// no joint was ever measured on this plate. It never relaxes a limit.
class JointEstimate {
public:
    explicit JointEstimate(const HeatPlan& plan);

    void start(double plateC);               ///< Strip and plate are this warm.
    void advance(double dtS, double plateC); ///< Plate body, not the lagging reading.
    void strip(bool onPlate) { onPlate_ = onPlate; }

    bool known() const { return started_ && onPlate_ && !joints_.empty(); }
    double lowC() const;     ///< Coldest target at low contact, less the model's worst misfit.
    double nominalC() const; ///< Mean of the targets at nominal contact.
    double highC() const;    ///< Hottest target at high contact, plus the model's worst misfit.
    double hottestC() const; ///< As highC, without the misfit: what the dwell guard counts with.

private:
    struct Joint {
        JointModel model;
        double lowC, nominalC, highC;
    };
    std::vector<Joint> joints_;
    double ambientC_;
    bool started_ = false, onPlate_ = true;
};

} // namespace stripwright
