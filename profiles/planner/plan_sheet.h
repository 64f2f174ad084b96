#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Finds the plate reference that keeps every limit of the sheet at every contact level with the largest
/// worst normalised margin, within the plate's power and its own cooling. Always answers: if no plan keeps
/// every limit, the best one with runnable = false and the broken limits first in margins.
HeatPlan planSheet(const BenchSheet& sheet);

/// Rules that no temperature decides: alloys that must not meet, joints moved while liquid, targets off the
/// plate, lens feet off the board.
std::vector<std::string> refusalsOf(const BenchSheet& sheet);
/// What to know: alloys, reflow passes, lenses that go back on. `peaks` of a plan, every site's; without them
/// what needs a plan is left out.
std::vector<std::string> warningsOf(const BenchSheet& sheet, std::span<const JointPeak> peaks = {});

} // namespace stripwright
