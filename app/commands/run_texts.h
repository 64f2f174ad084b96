#pragma once

#include "planner/heat_plan.h"
#include "runlog/run_log.h"

namespace stripwright {

/// What the texts of a recorded run tell of themselves. SQLite keeps no checksums: a letter or figure that
/// has changed within a text that still makes sense cannot be told from a right one.
struct RunTexts {
    std::string garbled;          ///< The first that cannot be what was written, in words; empty: none.
    std::optional<HeatPlan> plan; ///< None if it cannot be read, or is of another version.
};
RunTexts textsOf(const RecordedRun& run);

/// Likewise of what happened between runs.
std::string garbledIn(const std::vector<BenchEvent>& events);

/// A text as a terminal may be given it, whatever bytes stand in the file.
std::string printable(const std::string& text);

} // namespace stripwright
