#include "planner/heat_aim.h"

#include "analysis/solid_heats.h"

#include <algorithm>

namespace stripwright {

static HeatAim releaseAim(const BenchSheet& sheet)
{
    const double letsGoC = sheet.strip.glue ? sheet.strip.glue->letsGoC : 0;
    return {.soakLowC = letsGoC - 15,
            .soakHighC = letsGoC - 5,
            .soakS = 30,
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
    aim.rampMaxCPerS = paste.rampCPerS.max.value_or(2.0);
    aim.peakC = paste.alloy.liquidusC + 25;
    if (solders(sheet.heat) && paste.peakC.min && paste.peakC.max)
        aim.peakC = (*paste.peakC.min + *paste.peakC.max) / 2;
    for (const Limit& limit : limits)
        if (limit.metric == Metric::Peak && limit.min)
            aim.peakC = std::max(aim.peakC, *limit.min);
    return aim;
}

} // namespace stripwright
