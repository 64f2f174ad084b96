#pragma once

#include "messages/messages.h"
#include "planner/heat_plan.h"

#include <QGuiApplication>
#include <QTemporaryDir>

#include <memory>

namespace stripwright {

/// A Qt application that can draw without a display. One at a time, and none before it.
class PictureApplication {
public:
    PictureApplication();
    ~PictureApplication();

private:
    QTemporaryDir runtimeFolder_;
    std::unique_ptr<QGuiApplication> application_;
};

/// Picture of a run over its plan, as PNG bytes: plate, joints, bodies, glue and lenses as recorded (solid),
/// plan and live estimate (dashed), the hands' marks of the solder among `events`. Needs a QGuiApplication,
/// for its fonts; a PictureApplication will do.
std::string curvePng(const HeatPlan& plan, const std::vector<Sample>& samples,
                     const std::vector<Event>& events = {});

} // namespace stripwright
