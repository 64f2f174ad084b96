#pragma once

#include "materials/bench_sheet.h"

namespace stripwright {

/// Share of an LED's electrical power that becomes heat in it. Own estimate for white mid-power LEDs.
constexpr double heatShareOfPower = 0.65;

/// Conductance from strip to surroundings by the strip's own area, for seats other than free air [W/m²K].
/// On metal: dry contact at moderate pressure, 100 to 1000 stated by a precision-engineering society's
/// overview of thermal couplings. In a closed profile: own estimate, that contact in series with the
/// profile's outside, about 2.8 times the strip's area at 10 W/m²K of free air and radiation.
constexpr double onMetalWPerM2K = 300, inClosedProfileWPerM2K = 26;

/// Steady temperatures with the strip lit; estimates, good to some 10 K.
struct RunningTemperature {
    double stripC = 0; ///< The strip as one temperature from end to end; in air its faces lose heat by free
                       ///< convection and radiation, its narrow sides and lenses are left out.
    double jointC = 0; ///< Above it by one LED's heat through dielectric and solder under its pad.
    std::optional<double> junctionC; ///< Above that by the same heat inside the LED; none if its thermal
                                     ///< resistance is not stated.
};

/// None if the sheet does not say how the strip is seated in service.
std::optional<RunningTemperature> runningTemperature(const BenchSheet& sheet);

} // namespace stripwright
