#pragma once

#include "link/plate_link.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// Why this plan cannot be run on this plate now, one sentence each; empty if it can. `identified` and
/// `highestC`: what is known of the real plate, none where it is not.
std::vector<std::string> whyNotRunnable(const HeatPlan& plan,
                                        const std::optional<IdentifiedPlate>& identified = {},
                                        std::optional<double> highestC = {});

} // namespace stripwright
