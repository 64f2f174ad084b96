#pragma once

#include "analysis/limits.h"

namespace stripwright {

// Heats in which every joint stays solid: lens release and drying bake.

/// Joints of the strip's old solder may move from here on [°C]: its alloy's movableAboveC. Unknown solder:
/// 96, where traces of bismuth and lead melt, in a heat in which hands work on the strip; 138, where tin and
/// bismuth melt, in a bake.
double staysSolidBelowC(const BenchSheet& sheet);

/// Plans keep joints this far below it: what a heater's lag and the live estimate still add.
constexpr double solidRoomK = 5;

/// Temperature the sheet's bake holds: its own, or the hottest of the table.
double bakeTemperatureC(const BenchSheet& sheet);

constexpr double handsPerLensS = 10;    ///< To twist one lens off and lay it down; trade habit.
constexpr double noLongerS = 90;        ///< More than the hands need, feet go on creeping; trade habit.
constexpr double longestReleaseS = 300; ///< To the peak; a slow heat warms what stays; trade habit.
constexpr double noFurtherK = 15;       ///< Over letting-go, a lens's glue is warmed no further; trade habit.

/// Glue of every foot reaches the upper end of its release and holds it for the hands, and goes no further;
/// its lens keeps its shape; no joint moves. Caps of LED bodies, of lenses that stay and of the plate are not
/// in it.
std::vector<Limit> releaseLimits(const BenchSheet& sheet);

/// Bodies of the targets stay at the bake's temperature for its time; no joint moves. The upper tolerance of
/// the bake guards the solderability of loose parts and is a habit here, where all are soldered.
std::vector<Limit> bakeLimits(const BenchSheet& sheet);

} // namespace stripwright
