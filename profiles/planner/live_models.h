#pragma once

#include "planner/heat_plan.h"
#include "search/whole_model.h"

namespace stripwright {

/// Fills joints and parts of a plan that has its curves: what the controller estimates from the plate while
/// the heat runs. Parts are those with a limit that is no habit, closer than 40 K as they get hottest.
void addLiveModels(HeatPlan& plan, const PredictedHeat& answer);

} // namespace stripwright
