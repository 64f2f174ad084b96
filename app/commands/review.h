#pragma once

#include "materials/bench_sheet.h"
#include "runlog/run_log.h"

#include <nlohmann/json.hpp>

namespace stripwright {

/// A run and its metrics as the JSON output documents them (app/help/json-output.md).
nlohmann::ordered_json reviewJson(const RecordedRun& run, const BenchSheet& sheet);

void printReview(const RecordedRun& run, const BenchSheet& sheet);

} // namespace stripwright
