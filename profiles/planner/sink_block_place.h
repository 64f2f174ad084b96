#pragma once

#include "search/whole_model.h"

namespace stripwright {

/// Whether every sink block lies under the strip, beside the plate and beside the others.
bool blocksFit(const BenchSheet& sheet);

/// Where one more block loses the fewest lenses on one side of the plate, and keeps the others the coolest,
/// over the plate curve of `base` in warm air; `beyond`: on the side away from the connector. None if it fits
/// nowhere there.
std::optional<PlacedSinkBlock> bestBlockPlace(const BenchSheet& sheet, const PredictedHeat& base,
                                              const SinkBlock& block, bool beyond);

} // namespace stripwright
