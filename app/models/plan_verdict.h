#pragma once

#include "planner/job_plan.h"

#include <QString>

namespace stripwright {

/// Whether a plan may be run, and if not why, in one sentence or two.
QString verdictOf(const HeatPlan& plan);
/// Of all heats of a sheet: how many, and the first that may not be run, of itself where there is one.
QString verdictOf(const JobPlan& job);

/// How far the figures of levers are to be trusted; begins small, without a full stop.
QString quickSearchText();

} // namespace stripwright
