#pragma once

#include "rules/joint_peaks.h"

namespace stripwright {

/// How many reflow passes one site's LED has been through, against what its data allow.
///
/// Counted is the LED that stands at the site after the heat. One that stays brings its own count, the
/// factory's pass if the sheet states none, and gets one more if its joint may begin to melt again: from its
/// alloy's movableAboveC on, its solidus or below, not only from its liquidus. That alloy is the old one (of
/// an unknown one the lowest that it may be), or of a refitted site what it was refitted with. One set down
/// new in a Swap or Fit heat comes from the reel with none, whatever the sheet says of the one before it, and
/// gets its first in the same way. One that comes off in a Remove heat, or waits for a later one, goes to
/// waste, and its site drops out. "May": in the scenario in which the joint gets hottest.
struct SitePasses {
    int site = 0;
    int before = 0;
    int inThisHeat = 0; ///< 0 or 1.
    int after = 0;
    int allowed = 0;
    bool operator==(const SitePasses&) const = default;
};

/// `peaks` must hold every site of the sheet; one that it does not hold is left out.
std::vector<SitePasses> passesOf(const BenchSheet& sheet, std::span<const JointPeak> peaks);

/// One sentence for the LEDs that this heat takes past what their data allow, for each count before it.
std::vector<std::string> passWarnings(std::span<const SitePasses> passes);

} // namespace stripwright
