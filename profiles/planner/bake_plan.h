#pragma once

#include "search/shape_search.h"

namespace stripwright {

constexpr double longestBakeH = 12; ///< Longer ones nobody watches to the end; they belong in a cabinet.

/// A bake as planned. `answer` is without curves when none is worth showing.
struct PredictedBake {
    BenchSheet sheet;     ///< With the bake's temperature filled in.
    PredictedHeat answer; ///< Times 1 s apart while heating, up to 60 s in the hold.
    std::vector<std::string> refusals;
};

/// Picks the hottest temperature of the bake table that everything on the strip survives (or takes the
/// sheet's own), and holds the plate where every target body is at it even in the coldest scenario. A bake
/// that no part survives in longestBakeH is refused, with what would do instead. The sheet must have targets
/// and no reason in bakeRefusals().
PredictedBake planBake(const BenchSheet& sheet);

} // namespace stripwright
