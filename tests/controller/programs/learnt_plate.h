#pragma once

#include "link/plate_link.h"

namespace stripwright {

inline IdentifiedPlate learntPlate()
{
    return {.measuredUtc = "2026-11-30T12:00:00Z",
            .powerW = 300,
            .heatCapacityJPerK = 194,
            .lossWPerK = 0.15,
            .radiatingAreaM2 = 0.007,
            .elementLagS = 4,
            .sensorLagS = 2,
            .deadTimeS = 1,
            .capacityError = 0.02,
            .lossError = 0.03,
            .lagError = 0.02,
            .fullHeatRampCPerS = 1.5};
}

} // namespace stripwright
