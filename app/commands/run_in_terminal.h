#pragma once

#include "models/live_run.h"

namespace stripwright {

struct RunResult {
    int code = 0;       ///< ExitCode.
    std::string runKey; ///< Empty if no run was begun.
    QString why;        ///< In words, how it ended.
};

/// Runs a plan to its end with progress on standard error, stopping the heat on Ctrl+C and waiting until
/// "heater off" was read back. On a simulated plate, hand cards that must be confirmed are confirmed at once;
/// on a real one they wait for Enter. Needs a Qt application object.
RunResult runInTerminal(const HeatPlan& plan, const LiveRunSetup& setup);

} // namespace stripwright
