#pragma once

#include "rules/plate_differences.h"

#include <nlohmann/json_fwd.hpp>

#include <filesystem>

namespace stripwright {

/// What a plate link says of its plate's heat, own loop, fan and watchdog. What it does not say, or says
/// wrongly, is not known: the controller says what is wrong with a link when it is to be used.
ConnectedPlate connectedPlateOf(const nlohmann::json& link);
/// None: no file, or none that can be read.
std::optional<ConnectedPlate> readConnectedPlate(const std::filesystem::path& linkFile);

} // namespace stripwright
