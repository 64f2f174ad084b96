#include "materials/free_convection.h"

#include <cmath>

namespace stripwright {

FreeConvection freeConvection(double stripWidthMm, double surfaceC, double airC)
{
    constexpr double zeroCelsiusK = 273.15;
    // Air at 1 bar by Sutherland's formulas (US Standard Atmosphere, 1976).
    const double t = (surfaceC + airC) / 2 + zeroCelsiusK;
    const double density = 353.0 / t, heatJPerKgK = 1007;
    const double viscosity = 1.458e-6 * std::pow(t, 1.5) / (t + 110.4);
    const double conductivity = 2.64638e-3 * std::pow(t, 1.5) / (t + 245.4 * std::pow(10, -12 / t));
    const double diffusivity = conductivity / (density * heatJPerKgK);
    const double length = stripWidthMm * 1e-3 / 2;
    const double rayleigh =
        9.81 / t * std::abs(surfaceC - airC) * std::pow(length, 3) / (viscosity / density * diffusivity);
    const double nusseltUp = rayleigh < 200 ? 0.96 * std::pow(rayleigh, 1.0 / 6)
                                            : (rayleigh < 1e4 ? 0.59 : 0.54) * std::pow(rayleigh, 0.25);
    return {nusseltUp * conductivity / length, 0.27 * std::pow(rayleigh, 0.25) * conductivity / length};
}

} // namespace stripwright
