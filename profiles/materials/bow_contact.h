#pragma once

#include "materials/materials.h"

namespace stripwright {

/// Bows that a contact is worked out for [mm]: less is roughness, more must be pressed flat.
constexpr double leastBowMm = 0.03, mostBowMm = 1;

/// Strip and plate with an even gap of air between them, at their mean temperature [W/m²K]:
///
///     h = k(T) / gap + 4 σ T³ / (1/0.1 + 1/0.3 - 1)
///     k = 0.0262 + 6.75e-5 (T - 300) [W/mK], T in kelvin
///
/// k fits a chart of gas conductivities (26.2, 33.3, 39.7, 45.7 mW/mK at 300, 400, 500, 600 K) within 2 %;
/// emissivities of bare aluminium 0.1 and a used plate 0.3.
double evenGapWPerM2K(double gapMm, double meanC);

/// Conductivity of air over a gap, averaged along a strip bent to a parabola of this bow, faces never nearer
/// than their roughness d = 20 µm, without radiation [W/m²K]. An arch touches at both ends, a rocker in the
/// middle:
///
///     arch:   k artanh(√(bow/(bow + d))) / √(bow (bow + d))
///     rocker: k arctan(√(bow/d)) / √(bow d)
double archGasWPerM2K(double bowMm, double meanC);
double rockerGasWPerM2K(double bowMm, double meanC);

/// Contact of a strip whose bow over the plate was measured: low as an even gap of bow and roughness, as in
/// the middle of an arch, at 130 °C; nominal the mean of an arch at 180 °C; high the mean of a rocker at 230
/// °C.
ContactCondition bowedContact(double bowMm);

} // namespace stripwright
