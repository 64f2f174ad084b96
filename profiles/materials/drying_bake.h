#pragma once

#include "materials/bench_sheet.h"

#include <array>

namespace stripwright {

/// Temperatures of the bake table, hottest first. A bake holds one of them, at most bakeToleranceK above and
/// never below.
constexpr std::array<double, 3> bakeTemperaturesC = {125, 90, 40};
constexpr double bakeToleranceK = 5;

bool isBakeTemperature(double temperatureC);

/// Time to dry an LED body at one of bakeTemperaturesC [h]: IPC/JEDEC J-STD-033, user bake of bodies up to
/// 1.4 mm. A level that is not stated is taken for "5a", the slowest. None for level 1, which needs no bake,
/// for level 6, which goes by its label, and for bodies thicker than the table's.
std::optional<double> bakeHours(const LedPackage& led, double temperatureC,
                                const std::optional<double>& overFloorLifeH);

constexpr double bakeTableMaxBodyMm = 1.4;

} // namespace stripwright
