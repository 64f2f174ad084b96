#pragma once

#include "loop/control_loop.h"

namespace stripwright {

/// Why the loop inside the real plate cannot be brought to give the heat of this plan, one sentence each;
/// empty if it can, and for a plate driven by duty. Told before heating, for a plan that would else be held
/// up in mid-heat.
std::vector<std::string> whyOwnLoopCannot(const HeatPlan& plan, const LoopSettings& settings);

} // namespace stripwright
