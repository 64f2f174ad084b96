#pragma once

#include "materials/bench_sheet.h"
#include "runlog/run_log.h"

#include <nlohmann/json.hpp>

namespace stripwright {

/// A run and its metrics as the JSON output documents them (app/help/json-output.md).
nlohmann::ordered_json reviewJson(const RunSummary& summary, const BenchSheet& sheet,
                                  const std::vector<Sample>& samples, const std::vector<Event>& events = {});

void printReview(const RunSummary& summary, const BenchSheet& sheet, const std::vector<Sample>& samples,
                 const std::vector<Event>& events = {});

} // namespace stripwright
