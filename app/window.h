#pragma once

#include <QString>

#include <filesystem>
#include <optional>
#include <vector>

namespace stripwright {

struct WindowOptions {
    std::vector<std::filesystem::path> shelfFolders; ///< In order; the first holds the shelf that ships.
    std::filesystem::path userShelfFolder;           ///< Read last; need not exist.
    std::filesystem::path sheetFile;                 ///< Opened at start; empty: a new sheet.
    std::filesystem::path runsFile;
    std::filesystem::path plateLink;    ///< Empty: the simulated plate.
    std::filesystem::path linkFolder;   ///< Where plate links are saved first.
    std::filesystem::path settingsFile; ///< What the window remembers; empty: nothing.
    std::filesystem::path binFolder;    ///< Where stripwright-controller and stripwright-plate stand.
    int place = 1;                      ///< 1 to 5, in the order of the rail.
    double speed = 1;                   ///< Of the simulated plate.
    std::optional<bool> dark;           ///< Absent: as the desktop is.
    /// If set: shows each place in turn, makes one run on the simulated plate, writes a PNG of each place
    /// here, and ends.
    std::filesystem::path screenshotsFolder;
    int width = 1400, height = 900; ///< First size of the window.
};

/// Shows the window and returns when it is closed: an exit code. Makes the QApplication itself. Throws
/// BadInput if the shelf cannot be read.
int showWindow(int argc, char** argv, const WindowOptions& options);

} // namespace stripwright
