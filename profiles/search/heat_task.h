#pragma once

#include "analysis/hand_times.h"
#include "analysis/limits.h"
#include "materials/bench_sheet.h"
#include "search/heat_aim.h"
#include "thermal/strip_model.h"

namespace stripwright {

/// One heat as a search sees it.
struct HeatTask {
    const BenchSheet& sheet;
    std::vector<Limit> limits;
    HeatAim aim;
    std::optional<HandWork> hands;
    std::vector<SpareLed> spares; ///< New LEDs that lie on the strip to warm.
    bool byPower = false;         ///< Shaped further by the heater's power in pieces.
};

} // namespace stripwright
