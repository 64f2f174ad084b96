#pragma once

#include "planner/heat_kinds.h"

#include <algorithm>
#include <set>

namespace stripwright::test {

/// Three sites, the middle one to be replaced, lenses on the outer two. Old joints are tin-lead, the paste is
/// SAC305.
inline BenchSheet threeSites(HeatKind heat)
{
    BenchSheet sheet;
    sheet.heat = heat;
    sheet.paste.alloy = {.id = "sac305",
                         .solidusC = 217,
                         .liquidusC = 219,
                         .movableAboveC = 217,
                         .densityKgPerM3 = 7400,
                         .heatCapacityJPerKgK = 230,
                         .conductivityWPerMK = 58,
                         .composition =
                             Composition{.tinShare = 0.965, .silverShare = 0.03, .copperShare = 0.005}};
    sheet.paste.countLiquidusC = 217;
    sheet.paste.rampCPerS = {.max = 3.0};
    sheet.paste.soakBandC = {.min = 150, .max = 200};
    sheet.paste.soakTimeS = {.min = 60, .max = 120};
    sheet.paste.aboveLiquidusS = {.min = 40, .max = 60};
    sheet.paste.peakC = {.min = 235, .max = 245};
    sheet.paste.coolingCPerS = {.min = 1, .max = 4, .minIsHabit = true};
    sheet.paste.timeToPeakS = {.max = 480};
    sheet.oldAlloy = Alloy{.id = "sn63pb37",
                           .solidusC = 183,
                           .liquidusC = 183,
                           .movableAboveC = 183,
                           .hasLead = true,
                           .densityKgPerM3 = 8400,
                           .heatCapacityJPerKgK = 176,
                           .conductivityWPerMK = 50,
                           .composition = Composition{.tinShare = 0.63, .leadShare = 0.37}};
    sheet.strip.lengthMm = 110;
    sheet.strip.widthMm = 12;
    sheet.strip.siteXMm = {20, 55, 90};
    sheet.strip.led.lengthMm = 3.5;
    sheet.strip.led.widthMm = 2.8;
    sheet.strip.led.heightMm = 0.75;
    sheet.strip.led.padLengthMm = 2.8;
    sheet.strip.led.padWidthMm = 2.1;
    sheet.strip.led.bodyMaxC = 260;
    sheet.strip.led.nearMaxS = 20;
    sheet.strip.core = {.alloy = "5052",
                        .thicknessMm = 1.0,
                        .conductivityWPerMK = 138,
                        .densityKgPerM3 = 2680,
                        .heatCapacityJPerKgK = 880};
    sheet.strip.jointThicknessUm = 80;
    sheet.strip.dielectric = {100, 1.0, 2e6, 255};
    sheet.strip.lens = Lens{.footMaxC = 85, .bodyMaxC = 80};
    sheet.strip.glue = Glue{.holdC = 82};
    sheet.plate.lengthMm = 60;
    sheet.plateStartMm = 25;
    sheet.sites = {{.site = 1}, {.site = 2, .state = SiteState::Replace}, {.site = 3}};
    return sheet;
}

inline const Limit* find(const std::vector<Limit>& limits, const std::string& id)
{
    const auto at = std::find_if(limits.begin(), limits.end(), [&](const Limit& l) { return l.id == id; });
    return at == limits.end() ? nullptr : &*at;
}

/// What is asked of one station: the ids after its name.
inline std::set<std::string> askedOf(const std::vector<Limit>& limits, const std::string& station)
{
    std::set<std::string> asked;
    for (const Limit& limit : limits)
        if (limit.station.name() == station)
            asked.insert(limit.id.substr(station.size() + 1));
    return asked;
}

} // namespace stripwright::test
