#pragma once

#include "commands/commands.h"

#include <variant>

namespace stripwright {

/// No command: the window. The program's main() shows it; the commands know no widgets.
struct WindowCommand {
    std::string sheet;             ///< Empty: the shipped demo sheet.
    std::string plateLink;         ///< Empty: a simulated plate.
    std::filesystem::path runs;    ///< Empty: the user's own run log.
    double speed = 1;              ///< Of the simulated plate.
    std::string screenshotsFolder; ///< If set: a picture of each place is left here, and the window closes.
    std::optional<bool> dark;      ///< Absent: as the desktop is.
};

using TerminalCommand =
    std::variant<PlanCommand, PredictCommand, RunCommand, RunningCommand, StopCommand, FollowCommand,
                 ReviewCommand, CheckCommand, RunsCommand, ControllerCommand, DemoCommand>;

/// What the arguments ask for, or the exit code after help or a usage error has been printed. Call it before
/// any Qt application object exists: Qt takes arguments away and sets the locale.
std::variant<WindowCommand, TerminalCommand, int> parseCommandLine(int argc, const char* const* argv);

/// Carries out a command to its exit code, whatever it throws.
int carryOut(const TerminalCommand& command);

} // namespace stripwright
