#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

// Stages and cards of the heats in which every joint stays solid. Each needs sheet, curves and heaterOffS of
// the plan and adds to its stages and cards.

void writeReleaseCardsBefore(HeatPlan& plan);

/// Lenses in the order in which their glue lets go at the poorest contact, hottest first.
void writeReleaseHands(HeatPlan& plan);

void writeBakeHands(HeatPlan& plan);

} // namespace stripwright
