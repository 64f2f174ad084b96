#include "planner/service_temperature.h"

#include <cmath>

namespace stripwright {

namespace {

constexpr double mm = 1e-3, um = 1e-6, kelvin = 273.15;
constexpr double stefanBoltzmann = 5.670374419e-8;

double heatLostW(const StripType& strip, double stripC, double airC)
{
    const FreeConvection film = freeConvection(strip.widthMm, stripC, airC);
    const double radiated = stefanBoltzmann * (strip.emissivityTop + strip.emissivityUnderside) *
                            (std::pow(stripC + kelvin, 4) - std::pow(airC + kelvin, 4));
    return strip.lengthMm * mm * strip.widthMm * mm *
           ((film.upWPerM2K + film.downWPerM2K) * (stripC - airC) + radiated);
}

// Halving, because the films jump a little where one correlation takes over from the next.
double stripInAirC(const StripType& strip, double heatW, double airC)
{
    double low = airC, high = airC + 1000;
    for (int i = 0; i < 50; ++i) {
        const double middle = (low + high) / 2;
        (heatLostW(strip, middle, airC) < heatW ? low : high) = middle;
    }
    return low;
}

} // namespace

FreeConvection freeConvection(double stripWidthMm, double surfaceC, double airC)
{
    // Air at 1 bar by Sutherland's formulas (US Standard Atmosphere, 1976).
    const double t = (surfaceC + airC) / 2 + kelvin;
    const double density = 353.0 / t, heatJPerKgK = 1007;
    const double viscosity = 1.458e-6 * std::pow(t, 1.5) / (t + 110.4);
    const double conductivity = 2.64638e-3 * std::pow(t, 1.5) / (t + 245.4 * std::pow(10, -12 / t));
    const double diffusivity = conductivity / (density * heatJPerKgK);
    const double length = stripWidthMm * mm / 2;
    const double rayleigh =
        9.81 / t * std::abs(surfaceC - airC) * std::pow(length, 3) / (viscosity / density * diffusivity);
    const double nusseltUp = rayleigh < 200 ? 0.96 * std::pow(rayleigh, 1.0 / 6)
                                            : (rayleigh < 1e4 ? 0.59 : 0.54) * std::pow(rayleigh, 0.25);
    return {nusseltUp * conductivity / length, 0.27 * std::pow(rayleigh, 0.25) * conductivity / length};
}

std::optional<RunningTemperature> runningTemperature(const BenchSheet& sheet)
{
    if (!sheet.service)
        return {};
    const StripType& strip = sheet.strip;
    const double ledHeatW = heatShareOfPower * sheet.service->driveShare * strip.led.powerW;
    const double heatW = ledHeatW * static_cast<double>(strip.siteXMm.size());
    const double surroundingsC = sheet.service->surroundingsC;
    const double areaM2 = strip.lengthMm * mm * strip.widthMm * mm;
    RunningTemperature running;
    switch (sheet.service->seat) {
    case Seat::InAir:
        running.stripC = stripInAirC(strip, heatW, surroundingsC);
        break;
    case Seat::OnMetal:
        running.stripC = surroundingsC + heatW / (onMetalWPerM2K * areaM2);
        break;
    case Seat::InClosedProfile:
        running.stripC = surroundingsC + heatW / (inClosedProfileWPerM2K * areaM2);
        break;
    }
    const double padM2 = strip.led.padLengthMm * mm * strip.led.padWidthMm * mm;
    const double padKPerW = (strip.dielectric.thicknessUm * um / strip.dielectric.conductivityWPerMK +
                             strip.jointThicknessUm * um / sheet.paste.alloy.conductivityWPerMK) /
                            padM2;
    running.jointC = running.stripC + ledHeatW * padKPerW;
    return running;
}

} // namespace stripwright
