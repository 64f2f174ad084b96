#pragma once

#include "planner/job_plan.h"

#include <QString>

namespace stripwright {

/// Whether a plan may be run, and if not why, in one sentence or two.
QString verdictOf(const HeatPlan& plan);
/// Of all heats of a sheet: how many, and the first that may not be run.
QString verdictOf(const JobPlan& job);

} // namespace stripwright
