#pragma once

#include "planner/heat_kinds.h"

namespace stripwright {

constexpr double handsPerLensS = 10;    ///< To twist one lens off and lay it down; trade habit.
constexpr double noLongerS = 90;        ///< More than the hands need, feet go on creeping; trade habit.
constexpr double longestReleaseS = 300; ///< To the peak; a slow heat warms what stays; trade habit.
constexpr double noFurtherK = 15;       ///< Over letting-go, a lens's glue is warmed no further; trade habit.

/// Glue of chosen lenses is warmed until they come off by hand: it lets go at every foot and holds for the
/// hands, goes no further, and no joint moves.
extern const HeatKindRules releaseHeat;

} // namespace stripwright
