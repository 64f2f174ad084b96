#include "interlocks/plate_figures.h"

namespace stripwright {

double PlateFigures::lossW(double plateC) const
{
    constexpr double stefanBoltzmann = 5.670374e-8; // W/(m² K⁴)
    const double hot = plateC + 273.15, cold = ambientC + 273.15;
    return lossWPerK * (plateC - ambientC) +
           radiatingAreaM2 * stefanBoltzmann * (hot * hot * hot * hot - cold * cold * cold * cold);
}

PlateFigures figuresOf(const PlateType& plate, double ambientC)
{
    return {plate.heatCapacityJPerK, plate.powerW,     plate.lossWPerK, plate.radiatingAreaM2,
            plate.elementLagS,       plate.sensorLagS, plate.deadTimeS, ambientC};
}

PlateFigures figuresOf(const IdentifiedPlate& plate, double ambientC)
{
    return {plate.heatCapacityJPerK, plate.powerW,     plate.lossWPerK, plate.radiatingAreaM2,
            plate.elementLagS,       plate.sensorLagS, plate.deadTimeS, ambientC};
}

} // namespace stripwright
