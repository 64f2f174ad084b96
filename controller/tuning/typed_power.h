#pragma once

#include "materials/own_plates.h"

#include <optional>
#include <string>

namespace stripwright {

/// What a climb and a typed power make of the plate together, for people: "3000 W and the climb, 1.47 K/s
/// cold at full heat, make it a plate of 2046 J/K: 2.3 kg or 0.84 dm3 of aluminium". A climb shows the power
/// per heat capacity only: with ten times the power it is a plate ten times as heavy, and no error shows it.
std::string plateByPower(double powerW, double heatCapacityJPerK);

/// Asks whether the typed power is right where it and the climb make it another plate than it is; none: they
/// agree. With its size: less than 0.7 or more than 1.8 times what solid aluminium of that size holds (steel
/// holds 1.6 times as much, the heater and its clamps come on top). Without: under 0.05 kg or over 2 kg of
/// aluminium, a plate of 60 x 60 x 5 mm and one of 300 x 200 x 12 mm. Figures that are no positive numbers
/// are asked about.
std::optional<std::string> powerQuestion(double powerW, double heatCapacityJPerK,
                                         const std::optional<PlateSize>& size = {});

} // namespace stripwright
