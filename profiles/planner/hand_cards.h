#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Names the stretches of a plan, where joints melt from the nominal curve of its first target, and writes
/// the cards for the hands. Needs sheet, curves, heaterOffS and liftAtS of the plan; fills stages and cards.
void writeStagesAndCards(HeatPlan& plan);

std::string siteList(const std::vector<int>& sites);     ///< "4, 5, 7-9".
std::string sitesInWords(const std::vector<int>& sites); ///< "site 6", "sites 4, 5, 7-9".

const PlanCurve* curveOf(const HeatPlan& plan, const std::string& station); ///< Null if it has none.

} // namespace stripwright
