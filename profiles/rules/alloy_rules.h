#pragma once

#include "rules/joint_peaks.h"

namespace stripwright {

/// Share of old solder in a new joint on wicked pads; own estimate.
constexpr double residueOnWickedPad = 0.2;

/// Least distance of a joint's running temperature from where it begins to melt [K]; trade habit.
constexpr double serviceRoomK = 40;

/// Lowest temperature at which a joint of this heat may still move [°C], with old solder mixed into a new
/// joint and an unknown old alloy taken for the worst.
double movableAboveC(const BenchSheet& sheet);

/// Bismuth and lead that would meet, unless the pads can be wicked cold and the sheet says by the override
/// "bismuth-over-lead" or, for a lead paste, "lead-over-bismuth" that they are; lifting while joints can
/// move, unless it accepts that.
std::vector<std::string> alloyRefusals(const BenchSheet& sheet);

/// What the alloys do to the heat and to the joint in service. `peaks` may be empty: what needs a plan is
/// then left out. Rules about a new joint hold in Swap and Fit heats only.
std::vector<std::string> alloyWarnings(const BenchSheet& sheet, std::span<const JointPeak> peaks);

} // namespace stripwright
