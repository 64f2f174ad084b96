#pragma once

#include "planner/heat_kinds.h"

namespace stripwright {

/// Bare pads with paste and the new LED on them from the start: the paste maker's windows hold for the joint.
extern const HeatKindRules fitHeat;

} // namespace stripwright
