#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Names the stretches of a plan, where joints melt from the nominal curve of its first target, and writes
/// the cards for the hands. Needs sheet, curves, heaterOffS and liftAtS of the plan; fills stages and cards.
void writeStagesAndCards(HeatPlan& plan);

const PlanCurve* curveOf(const HeatPlan& plan, StationId station); ///< Null if it has none.

} // namespace stripwright
