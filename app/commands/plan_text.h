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

/// verdictOf(job) with the LEDs that a heat takes past the passes their data allow.
std::string headlineOf(const JobPlan& job);

} // namespace stripwright
