#pragma once

#include "planner/job_plan.h"

#include <ostream>
#include <string>
#include <vector>

namespace stripwright {

/// A sheet's answer for a terminal: the heats first, then how they stand to their limits. `files`: where each
/// heat's plan was written, or none.
void printJob(std::ostream& out, const BenchSheet& sheet, const JobPlan& job,
              const std::vector<std::string>& files, bool all);

/// What it costs that contact, films, room, core and plate are known within ranges only: the job beside the
/// same one as though they were known.
std::string costOfRanges(const JobPlan& job, const JobPlan& asThoughKnown);

} // namespace stripwright
