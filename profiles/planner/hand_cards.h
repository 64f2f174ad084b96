#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Names the stretches of a plan from the nominal curve of its first target, and writes the cards for the
/// hands. Needs sheet, curves, heaterOffS and liftAtS of the plan; fills stages and cards.
void writeStagesAndCards(HeatPlan& plan);

/// "4, 5, 7-9".
std::string siteList(const std::vector<int>& sites);

} // namespace stripwright
