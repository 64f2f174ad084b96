#pragma once

#include "materials/shelf.h"
#include "search/whole_model.h"

namespace stripwright {

/// One change of a sheet and what to call it.
struct Lever {
    std::string id;   ///< As WhatIf::lever.
    std::string what; ///< "fan on the plate from heater-off"; no capital, no full stop.
    BenchSheet sheet;
    std::optional<BenchSheet> second; ///< A further heat that the change takes.
};

/// Every change worth trying on a sheet whose best heat so far is `base`: about thirty.
std::vector<Lever> leversOf(const BenchSheet& sheet, const Shelf& shelf, const Answer& base);

} // namespace stripwright
