#pragma once

#include "analysis/limits.h"
#include "runlog/run_log.h"

#include <nlohmann/json.hpp>

namespace stripwright {

/// A run and its metrics as the JSON output documents them (app/help/json-output.md).
nlohmann::ordered_json reviewJson(const RunSummary& summary, const std::vector<MarginRow>& rows);

void printReview(const RunSummary& summary, const std::vector<MarginRow>& rows);

} // namespace stripwright
