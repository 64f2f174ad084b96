#pragma once

#include "planner/job_plan.h"

#include <string>
#include <vector>

namespace stripwright {

/// Where each heat's plan goes: one to the file that was named, several to "bar.heat-2.plan.json" beside it.
/// None if no file was named.
std::vector<std::string> planFiles(const std::string& out, size_t heats);

/// Writes all heats of a job to planFiles(). If one cannot be written, the files are as they were before, and
/// CannotWrite is thrown. Once all are written, heats of an earlier answer that this one does not have are
/// removed, so that nobody runs them: only files named so whose plan is of the same strip (title and strip
/// type). Returns what became of such files, and of others named so, a sentence each.
std::vector<std::string> writeHeats(const std::string& out, const JobPlan& job);

} // namespace stripwright
