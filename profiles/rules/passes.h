#pragma once

#include "rules/joint_peaks.h"

namespace stripwright {

/// How often the joint of one site's LED has been above liquidus, against what the LED's data allow.
///
/// Counted is the LED that stands at the site after the heat. One that stays brings its own count, the
/// factory's pass if the sheet states none, and gets one more if its joint may reach the old alloy's liquidus
/// (of an unknown alloy the lowest that it may be). One set down new in a Swap or Fit heat comes from the
/// reel with none, whatever the sheet says of the one before it, and gets its first if its joint may reach
/// its solder's liquidus. One that comes off in a Remove heat, or waits for a later one, goes to waste, and
/// its site drops out. "May reach": at the contact level at which the joint gets hottest.
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
