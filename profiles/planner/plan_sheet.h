#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Finds the plate reference that keeps every limit of the sheet at every contact level with the largest
/// worst normalised margin, within the plate's power and its own cooling. Always answers: if no plan keeps
/// every limit, the best one with runnable = false and the broken limits first in margins.
HeatPlan planSheet(const BenchSheet& sheet);

} // namespace stripwright
