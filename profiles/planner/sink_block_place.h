#pragma once

#include "planner/whole_model.h"

namespace stripwright {

/// Whether every sink block lies on the strip, beside the plate and beside the others.
bool blocksFit(const BenchSheet& sheet);

/// Where one more block spares the lenses on one side of the plate the most, over the plate curve of `base`
/// in warm air; `beyond`: on the side away from the connector. None if it fits nowhere there.
std::optional<PlacedSinkBlock> bestBlockPlace(const BenchSheet& sheet, const Answer& base,
                                              const SinkBlock& block, bool beyond);

} // namespace stripwright
