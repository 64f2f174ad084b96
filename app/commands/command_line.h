#pragma once

#include "commands/commands.h"

#include <variant>

namespace stripwright {

/// No command: the window.
struct WindowCommand {
    std::string sheet;   ///< Empty: the shipped demo sheet.
};

using AnyCommand =
    std::variant<WindowCommand, PlanCommand, PredictCommand, RunCommand, ReviewCommand, CheckCommand, DemoCommand>;

/// What the arguments ask for, or the exit code after help or a usage error has been printed. Call it before any Qt
/// application object exists: Qt takes arguments away and sets the locale.
std::variant<AnyCommand, int> parseCommandLine(int argc, const char* const* argv);

} // namespace stripwright
