#pragma once

#include "planner/heat_plan.h"
#include "rows.h"

namespace stripwright::faults {

/// The demo bar's plan with most of its soak left out, so that a row does not wait for what does not change.
HeatPlan shortPlan();

double momentOf(const HeatPlan& plan, Phase phase); ///< Profile time at which a fault of this phase comes.

} // namespace stripwright::faults
