#pragma once

#include "planner/heat_kinds.h"

namespace stripwright {

/// LED bodies are dried: they stay at the bake's temperature for its time, and no joint moves. The upper
/// tolerance of the bake guards the solderability of loose parts and is a habit here, where all are soldered.
extern const HeatKindRules bakeHeat;

} // namespace stripwright
