#pragma once

#include "messages/messages.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// What who stands at the plate needs once the heat has been stopped: how hot plate and joints are, what the
/// hands leave be, and until when. `plan` may be absent; the solder then counts as liquid while the plate is
/// hot enough for the lowest old alloy.
std::string hotPlateWords(const std::optional<HeatPlan>& plan, const Status& status,
                          const std::optional<Sample>& newest);

} // namespace stripwright
