#pragma once

#include "materials/shelf.h"
#include "planner/job_plan.h"

#include <functional>

namespace stripwright {

/// One change of a sheet and what to call it.
struct Lever {
    std::string id;   ///< As WhatIf::lever.
    std::string what; ///< "fan on the plate from heater-off"; no capital, no full stop.
    std::function<void(BenchSheet&)> change;
    BenchSheet on(BenchSheet sheet) const
    {
        change(sheet);
        return sheet;
    }
};

/// Every change worth trying on a sheet whose best heats so far are `base`: about thirty.
std::vector<Lever> leversOf(const BenchSheet& sheet, const Shelf& shelf, const std::vector<HeatAnswer>& base);

} // namespace stripwright
