#include "rules/running_temperature.h"

#include "materials/free_convection.h"
#include "rules/joint_solder.h"
#include "thermal/heat_network.h"

#include <cmath>

namespace stripwright {

namespace {

constexpr double mm = 1e-3, um = 1e-6;

double heatLostW(const StripType& strip, double stripC, double airC)
{
    const FreeConvection film = freeConvection(strip.widthMm, stripC, airC);
    const double radiated = stefanBoltzmannWPerM2K4 * (strip.emissivityTop + strip.emissivityUnderside) *
                            (std::pow(stripC + zeroCelsiusK, 4) - std::pow(airC + zeroCelsiusK, 4));
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
                             strip.jointThicknessUm * um / solderOf(sheet).conductivityWPerMK) /
                            padM2;
    running.jointC = running.stripC + ledHeatW * padKPerW;
    if (strip.led.junctionToPadKPerW > 0)
        running.junctionC = running.jointC + ledHeatW * strip.led.junctionToPadKPerW;
    return running;
}

} // namespace stripwright
