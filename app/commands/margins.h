#pragma once

#include "analysis/limits.h"

#include <nlohmann/json.hpp>
#include <ostream>

namespace stripwright {

/// Rows for the eye, in the order given: a table where `out` is wide enough, else a list.
void printMargins(std::ostream& out, const std::vector<MarginRow>& rows);

/// Rows as the JSON output documents them (app/help/json-output.md).
nlohmann::ordered_json marginsJson(const std::vector<MarginRow>& rows);

/// No limit that is no habit is broken, and there is at least one.
bool everyLimitKept(const std::vector<MarginRow>& rows);

} // namespace stripwright
