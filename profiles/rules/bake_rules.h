#pragma once

#include "thermal/predict.h"

#include <span>

namespace stripwright {

/// Temperature the sheet's bake holds: its own, or the hottest of the table.
double bakeTemperatureC(const BenchSheet& sheet);

/// Bakes that the table has no time for.
std::vector<std::string> bakeRefusals(const BenchSheet& sheet);
std::vector<std::string> bakeWarnings(const BenchSheet& sheet);

/// Warning for a heat that takes LED bodies which may hold moisture above 200 °C (IPC/JEDEC J-STD-033,
/// rework). None for a bake, for level 1, or if every body stays below.
std::optional<std::string> dryFirstWarning(const BenchSheet& sheet, std::span<const Prediction> predictions);

} // namespace stripwright
