#pragma once

#include "planner/heat_kinds.h"

namespace stripwright {

/// The old LED comes off, nothing goes on.
extern const HeatKindRules removeHeat;

} // namespace stripwright
