#pragma once

#include "messages/patient_output.h"
#include "messages/running.h"
#include "models/live_run.h"

namespace stripwright {

struct RunResult {
    int code = 0;       ///< ExitCode.
    std::string runKey; ///< Empty if no run was begun.
    QString why;        ///< In words, how it ended.
    long samples = 0;   ///< So many the controller has counted.
    /// It has ended and its controller goes on: the end of its log may still be on its way to the disk.
    bool logFollows = false;
};

/// What a run ended with, as its record has it.
int exitCodeOf(Outcome outcome);

/// What a start that was refused means, by the controller's words and the status beside them.
int exitCodeOfRefusal(const QString& why, const std::optional<Status>& status);

/// Runs a plan to its end with progress on standard error (`talk`, which never blocks), stopping the heat on
/// Ctrl+C and waiting until "heater off" was read back. On a real plate, hand cards that must be confirmed
/// wait for Enter, those for work on a site may be confirmed so, and those whose time only runs cannot be
/// confirmed. On a simulated one simulated hands answer: the first at once, those for joints that are liquid
/// at the end of their time, unless somebody at the terminal has pressed Enter before (at real speed only),
/// and the run is noted to have been so (simulated_hands.h).
/// Needs a Qt application object.
RunResult runInTerminal(const HeatPlan& plan, const LiveRunSetup& setup, const PatientOutput& talk);

/// The same for a run that somebody else began. Its controller goes on when this ends.
RunResult followInTerminal(const RunningController& controller, const PatientOutput& talk);

/// Reviews the run on standard output and says what the run log lacks. Returns the exit code.
int reviewResult(const RunResult& result, const std::filesystem::path& runs);

} // namespace stripwright
