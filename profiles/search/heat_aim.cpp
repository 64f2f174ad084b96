#include "search/heat_aim.h"

#include <algorithm>

namespace stripwright {

StripDraw roughDraw(const BenchSheet& sheet)
{
    constexpr double fins = 2, filmWPerM2K = 40;
    const Core& core = sheet.strip.core;
    const double m2 = sheet.plate.lengthMm * sheet.strip.widthMm * 1e-6;
    return {fins * core.densityKgPerM3 * core.heatCapacityJPerKgK * core.thicknessMm * 1e-3 * m2,
            fins * filmWPerM2K * m2};
}

static double plateFor(const BenchSheet& sheet, double jointC, double contactWPerM2K)
{
    constexpr double lossWPerM2K = 40;
    return sheet.air.ambientC +
           (jointC - sheet.air.ambientC) * (contactWPerM2K + lossWPerM2K) / contactWPerM2K;
}

static Shape drawnShape(const BenchSheet& sheet, const HeatAim& aim, const StripDraw& draw)
{
    const double low = sheet.contact.lowWPerM2K, nominal = sheet.contact.nominalWPerM2K;
    const double bandK = aim.soakHighC - aim.soakLowC;
    const double strongest =
        strongestRampCPerS(sheet.plate, draw, plateFor(sheet, aim.soakLowC, nominal), sheet.air.ambientC);
    Shape shape;
    shape.soakRampCPerS = std::min(std::max(strongest, 0.1), 0.6 * aim.rampMaxCPerS);
    shape.soakStartC = plateFor(sheet, aim.soakLowC + 0.1 * bandK, low);
    shape.soakEndC = plateFor(sheet, aim.soakHighC - 0.1 * bandK, nominal);
    shape.soakS = aim.soakS;
    shape.waitC = shape.soakEndC;
    shape.peakRampCPerS = 0.9 * aim.rampMaxCPerS;
    shape.peakC = std::min(plateFor(sheet, aim.peakC, nominal), sheet.plate.maxC);
    shape.holdS = aim.holdS;
    return shape;
}

std::array<Shape, 3> firstGuesses(const BenchSheet& sheet, const HeatAim& aim, const StripDraw& draw)
{
    constexpr double belowTurnK = 8, stopS = 150;
    const Shape asDrawn = drawnShape(sheet, aim, draw);
    Shape straight = asDrawn;
    straight.soakRampCPerS = asDrawn.peakRampCPerS;
    straight.soakStartC = straight.soakEndC = straight.waitC =
        plateFor(sheet, aim.turnC - belowTurnK, sheet.contact.nominalWPerM2K);
    straight.soakS = straight.waitS = straight.holdS = 0;
    Shape stopping = straight;
    stopping.soakS = stopS;
    return {asDrawn, straight, stopping};
}

} // namespace stripwright
