#pragma once

#include "loop/cycle_record.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// Why a mark says nothing at this moment of the run, in words with what to do; empty: it counts. `latest`:
/// the newest record of the run's cycles.
std::string whyNotMarked(const HeatPlan& plan, const CycleRecord& latest, const SolderMark& mark);

} // namespace stripwright
