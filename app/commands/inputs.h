#pragma once

#include "planner/heat_plan.h"

#include <filesystem>

namespace stripwright {

std::filesystem::path shippedData(); ///< The shelf and demo sheets that ship.
std::filesystem::path demoSheetFile();
std::filesystem::path
userShelfFolder(); ///< Below XDG_DATA_HOME/stripwright, as is the run log; may not exist yet.
std::filesystem::path userRunsFile();
std::filesystem::path binFolder(); ///< Where this program and the controller stand.

/// Every file of the shelves and demo sheets as they stand: no output may be one of them.
std::vector<std::filesystem::path> filesOfShelves();

/// A run log with what the database keeps beside it.
std::vector<std::filesystem::path> filesOfRunLog(const std::filesystem::path& runs);

/// The shipped shelf with the user's own entries over it. Throws BadInput.
Shelf readWholeShelf();

BenchSheet readSheetFile(const std::string& path, const Shelf& shelf); ///< Throws BadInput.
HeatPlan readPlanFile(const std::string& path);                        ///< Throws BadInput.

} // namespace stripwright
