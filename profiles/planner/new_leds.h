#pragma once

#include "planner/heat_plan.h"
#include "search/whole_model.h"

namespace stripwright {

/// Fills newLeds of a plan that has its curves and hands.
void addNewLeds(HeatPlan& plan, const PredictedHeat& answer);

} // namespace stripwright
