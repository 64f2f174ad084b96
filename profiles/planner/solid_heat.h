#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

// What the heats share in which every joint stays solid.

void addSolidJoints(std::vector<Limit>& limits, const BenchSheet& sheet);
/// Rates and dielectric of a target.
void addSolidTarget(std::vector<Limit>& limits, const BenchSheet& sheet, int site);
void addCoolDown(HeatPlan& plan, double fromS, const std::string& text); ///< Stage and card.

} // namespace stripwright
