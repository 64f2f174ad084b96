#pragma once

#include "planner/heat_kinds.h"

namespace stripwright {

/// Old LED lifted off and a new one set down on liquid solder in the same heat, by one of the ways that need
/// no paste on a hot pad.
extern const HeatKindRules swapHeat;

} // namespace stripwright
