#pragma once

#include "messages/messages.h"
#include "planner/heat_plan.h"

namespace stripwright {

/// Picture of a run over its plan, as PNG bytes: plate, joints, bodies, glue and lenses as recorded (solid), plan and
/// live estimate (dashed). Needs a QGuiApplication, for its fonts; any platform will do.
std::string curvePng(const HeatPlan& plan, const std::vector<Sample>& samples);

} // namespace stripwright
