#pragma once

#include "planner/heat_plan.h"
#include "search/whole_model.h"

namespace stripwright {

/// Finds the plate reference of one heat that keeps every limit of the sheet in every scenario with the
/// largest worst normalised margin, within the plate's power and its own cooling. Always answers: if no plan
/// keeps every limit, the best one with runnable = false and the broken limits first in margins.
HeatPlan planSheet(const BenchSheet& sheet);

/// The plan of a heat that has been searched: curves, live models, stages, cards, rules.
HeatPlan planOf(const BenchSheet& sheet, const PredictedHeat& answer, bool placeIsChosen = false);

} // namespace stripwright
