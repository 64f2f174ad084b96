#pragma once

#include "planner/heat_plan.h"

#include <filesystem>

namespace stripwright {

std::filesystem::path shippedData();     ///< The shelf and demo sheets that ship.
std::filesystem::path demoSheetFile();
std::filesystem::path userDataFolder();  ///< XDG_DATA_HOME/stripwright; the user's shelf entries and run log.
std::filesystem::path userRunsFile();
std::filesystem::path binFolder();       ///< Where this program and the controller stand.

/// The shipped shelf with the user's own entries over it. Throws BadInput.
Shelf readWholeShelf();

BenchSheet readSheetFile(const std::string& path, const Shelf& shelf);  ///< Throws BadInput.
HeatPlan readPlanFile(const std::string& path);                         ///< Throws BadInput.

} // namespace stripwright
