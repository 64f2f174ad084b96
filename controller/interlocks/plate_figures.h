#pragma once

#include "link/plate_link.h"
#include "materials/materials.h"

namespace stripwright {

/// What the checks and the loop know of a plate's heat.
struct PlateFigures {
    double heatCapacityJPerK = 0, powerW = 0, lossWPerK = 0, radiatingAreaM2 = 0;
    double elementLagS = 0, sensorLagS = 0, deadTimeS = 0;
    double ambientC = 0;

    /// Heat to air and surroundings at ambient, no fan [W].
    double lossW(double plateC) const;
};

PlateFigures figuresOf(const PlateType& plate, double ambientC);
PlateFigures figuresOf(const IdentifiedPlate& plate, double ambientC);

} // namespace stripwright
