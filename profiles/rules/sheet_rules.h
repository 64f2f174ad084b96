#pragma once

#include "rules/joint_peaks.h"

namespace stripwright {

/// Rules that no temperature decides: alloys that must not meet, joints moved while liquid, targets off the
/// plate, lens feet off the board.
std::vector<std::string> refusalsOf(const BenchSheet& sheet);
/// What to know: alloys, reflow passes, lenses that go back on. `peaks` of a plan, every site's; without them
/// what needs a plan is left out.
std::vector<std::string> warningsOf(const BenchSheet& sheet, std::span<const JointPeak> peaks = {});

} // namespace stripwright
