#pragma once

#include "materials/bench_sheet.h"

#include <cstdint>

namespace stripwright {

/// A bench as it may stand: any shipped paste, strip and plate, contact from resting to greased, targets in
/// the even part of the plate, lenses taken off where they would hardly survive, now and then one left on too
/// near. The same seed and number give the same sheet on every machine.
BenchSheet randomSheet(const Shelf& shelf, std::uint64_t seed, int number,
                       const PlateType* plate = nullptr); ///< On this plate, else on one of the shelf's.

/// A job as it may come: every kind of heat and way to swap, the joints' old solder known, other or unknown,
/// one to six dead sites, near each other or all over the strip, any lens and glue of the shelf, with and
/// without a fan, the plate about the dead sites; a bake after any time. It reads back from its file, and may
/// hold what is refused.
BenchSheet randomJob(const Shelf& shelf, std::uint64_t seed, int number);

} // namespace stripwright
