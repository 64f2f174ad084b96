#pragma once

#include "materials/materials.h"

namespace stripwright {

/// Where the last liquid of a joint sets [°C]: with bismuth and lead (Yoon & Lee, CALPHAD 22 (1998) 167
/// compute 98; 95 to 96 is commonly stated), with bismuth, with lead, and with lead and silver.
constexpr double bismuthLeadC = 96, tinBismuthC = 138, tinLeadC = 183, tinLeadSilverC = 178;

/// What a joint becomes with old solder in it. From the mass balance of both alloys:
///
///     liquidus = 232 - 1.3374 w - 0.005315 w² - 1.286 v - s     [°C]
///
/// with w and v the joint's bismuth and lead in per cent by mass. The bismuth terms pass through tin (232
/// °C), 40 % (170 °C, soldering textbooks) and the eutectic at 57 % (138.5 °C); the lead term is the straight
/// line from tin to the eutectic at 38.1 % and 183 °C. s is what silver and copper take off in the new alloy
/// alone, 12 K for SAC305; beyond half of old solder it goes in a line to that of the old alloy, whose own
/// liquidus a joint of nothing else has. Good to about 6 K, from pure tin to either eutectic, for joints that
/// had the time to mix.
struct MixedJoint {
    std::optional<double> liquidusC; ///< Fully melted from here; none where bismuth and lead meet, or beyond
                                     ///< an eutectic: no such fit holds there.
    double lastLiquidC = 0; ///< The last liquid may set only here, and the joint begins to melt here again.
    double lastLiquidShareMax = 0; ///< Upper bound of that phase's share of the joint by mass, from the
                                   ///< scarcest of its elements: 51.6 % Bi, 32.6 % Pb and 15.8 % Sn in the
                                   ///< one at 96 °C, 57 % Bi in the one at 138, 38.1 % Pb in those at 178 and
                                   ///< 183, the rest Sn. 0: with neither Bi nor Pb, not known.
};

/// `oldShare`: mass of old solder over that of the whole joint, 0 to 1. None if either composition is not
/// known, or the share is outside.
std::optional<MixedJoint> mixedJoint(const Alloy& fresh, const Alloy& old, double oldShare);

} // namespace stripwright
