#pragma once

#include "planner/job_plan.h"

#include <ostream>

namespace stripwright {

/// A sheet's answer for a terminal: the heats first, then how they stand to their limits. `files`: where each
/// heat's plan was written, or none.
void printJob(std::ostream& out, const BenchSheet& sheet, const JobPlan& job,
              const std::vector<std::string>& files, bool all);

/// Broken at 80 columns; lines after the first are indented as wide as `lead`.
void printWrapped(std::ostream& out, const std::string& lead, const std::string& text);

} // namespace stripwright
