#pragma once

#include "planner/heat_plan.h"

#include <QString>

namespace stripwright {

/// Whether a plan may be run, and if not why, in one sentence or two.
QString verdictOf(const HeatPlan& plan);

} // namespace stripwright
