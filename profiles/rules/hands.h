#pragma once

#include "analysis/hand_times.h"
#include "materials/bench_sheet.h"
#include "thermal/strip_model.h"

namespace stripwright {

/// What the hands do while joints are liquid: in a Swap lift and set down, in a Remove lift, in order of
/// sites. None in other heats, or without targets.
std::optional<HandWork> handWorkOf(const BenchSheet& sheet);

/// The strip's LED as it is set down: body as a slab, its pad behind dielectric, half the core and the
/// solder.
SetDownBody setDownBodyOf(const BenchSheet& sheet);

/// The pad under that LED as it dips.
PadDip padDipOf(const BenchSheet& sheet, double padC, double startC);

/// Most a new LED may jump when it is set down [K]: a plastic body by analogy with an iron of 300 to 350 °C
/// on its terminals, which LED sheets allow for 3 s (trade habit); a ceramic one by chip-capacitor makers'
/// rules, 150 K up to 3.2 x 1.6 mm, 130 K above (ceramic chip capacitor precautions, 2008).
double mostShockK(const LedPackage& led);

/// Where the new LEDs lie to warm on the strip's overhang, in a row away from the plate, clear of LEDs,
/// lenses and blocks: from where the sheet says, else from 35 mm off the plate's edge on, on the longer side
/// if it holds them. None if no overhang holds them all.
std::vector<SpareLed> sparesOf(const BenchSheet& sheet);

} // namespace stripwright
