#include "search/heat_aim.h"

#include "analysis/solid_heats.h"

#include <algorithm>

namespace stripwright {

static HeatAim releaseAim(const BenchSheet& sheet)
{
    const double letsGoC = sheet.strip.glue ? sheet.strip.glue->releaseHighC : 0;
    return {.soakLowC = letsGoC - 15,
            .soakHighC = letsGoC - 5,
            .soakS = 30,
            .turnC = letsGoC,
            .peakC = letsGoC + noFurtherK / 2,
            .holdS = handsPerLensS * static_cast<double>(sheet.targets().size())};
}

HeatAim heatAimOf(const BenchSheet& sheet, const std::vector<Limit>& limits)
{
    if (sheet.heat == HeatKind::Release)
        return releaseAim(sheet);
    const Paste& paste = sheet.paste;
    HeatAim aim;
    aim.soakLowC = paste.soakBandC.min.value_or(paste.alloy.solidusC - 30);
    aim.soakHighC = paste.soakBandC.max.value_or(paste.alloy.solidusC);
    aim.soakS = 0.7 * (paste.soakTimeS.min.value_or(30) + paste.soakTimeS.max.value_or(60)) / 2;
    aim.holdS = 3;
    aim.turnC = paste.alloy.liquidusC;
    aim.rampMaxCPerS = paste.rampCPerS.max.value_or(2.0);
    aim.peakC = paste.alloy.liquidusC + 25;
    if (solders(sheet.heat) && paste.peakC.min && paste.peakC.max)
        aim.peakC = (*paste.peakC.min + *paste.peakC.max) / 2;
    for (const Limit& limit : limits)
        if (limit.metric == Metric::Peak && limit.min)
            aim.peakC = std::max(aim.peakC, *limit.min);
    return aim;
}

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
