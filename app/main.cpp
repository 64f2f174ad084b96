#include "app/window.h"
#include "commands/command_line.h"
#include "commands/inputs.h"
#include "materials/output_file.h"

#include <csignal>
#include <cstdlib>
#include <iostream>

using namespace stripwright;

static bool hasDisplay()
{
    for (const char* name : {"DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"})
        if (const char* value = std::getenv(name); value && *value)
            return true;
    return false;
}

static int openWindow(const WindowCommand& command, int argc, char** argv)
{
    if (!command.runs.empty() &&
        !std::filesystem::exists(std::filesystem::absolute(command.runs).parent_path()))
        throw CannotWrite(command.runs.string() +
                          ": its folder is not there; name a run log in a folder that exists");
    if (!hasDisplay()) {
        std::cerr << "There is no display for the window. For the demo job in the terminal: stripwright "
                     "--headless;\n"
                     "for what else works without a display: stripwright --help\n";
        return exitUsage;
    }
    return showWindow(
        argc, argv,
        {.shelfFolders = {shippedData()},
         .userShelfFolder = userShelfFolder(),
         .sheetFile = command.sheet.empty() ? demoSheetFile() : std::filesystem::path(command.sheet),
         .runsFile = command.runs.empty() ? userRunsFile() : command.runs,
         .plateLink = command.plateLink,
         .linkFolder = userRunsFile().parent_path() / "plates",
         .settingsFile = command.screenshotsFolder.empty() ? userRunsFile().parent_path() / "window.ini"
                                                           : std::filesystem::path(),
         .binFolder = binFolder(),
         .speed = command.speed,
         .dark = command.dark,
         .screenshotsFolder = command.screenshotsFolder});
}

int main(int argc, char** argv)
{
    std::signal(SIGPIPE, SIG_IGN); // a reader that has gone is a write that fails
    const auto asked = parseCommandLine(argc, argv);
    if (const int* code = std::get_if<int>(&asked))
        return withOutputWritten(*code);
    if (const auto* command = std::get_if<TerminalCommand>(&asked))
        return carryOut(*command);
    try {
        return openWindow(std::get<WindowCommand>(asked), argc, argv);
    } catch (...) {
        return exitCodeOfCurrentException();
    }
}
