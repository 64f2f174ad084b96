#pragma once

#include "planner/heat_plan.h"
#include "runlog/run_log.h"

#include <nlohmann/json.hpp>

namespace stripwright {

/// A run and its metrics as the JSON output documents them (app/help/json-output.md).
nlohmann::ordered_json reviewJson(const RecordedRun& run, const HeatPlan& plan);

void printReview(const RecordedRun& run, const HeatPlan& plan);

} // namespace stripwright
