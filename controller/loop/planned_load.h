#pragma once

#include "interlocks/plate_figures.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// What a plan lets its strip draw from the plate, by what its duty gives beyond what its plate alone takes.
class PlannedLoad {
public:
    explicit PlannedLoad(const HeatPlan& plan);
    double shareAt(double profileS) const; ///< Of full power, as the plate's sensor shows it; from 0 on.

private:
    double delayS_ = 0;
    std::vector<double> timeS_, share_;
};

} // namespace stripwright
