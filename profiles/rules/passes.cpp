#include "rules/passes.h"
#include "rules/wording.h"

#include <algorithm>
#include <map>

namespace stripwright {

namespace {

std::string passesInWords(int count)
{
    return count == 0   ? "no reflow pass"
           : count == 1 ? "1 reflow pass"
                        : std::to_string(count) + " reflow passes";
}

} // namespace

static double meltsAgainFromC(const BenchSheet& sheet, bool anew)
{
    const double freshC = sheet.paste.alloy.movableAboveC;
    // A Fit's pads are wicked; in one heat the new solder joins the old.
    if (anew && sheet.heat == HeatKind::Fit)
        return freshC;
    const double oldC = sheet.oldAlloy ? sheet.oldAlloy->movableAboveC : lowestOldLiquidusC;
    return anew && sheet.usesFreshSolder() ? std::min(freshC, oldC) : oldC;
}

std::vector<SitePasses> passesOf(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    constexpr int factoryPasses = 1;
    std::vector<SitePasses> all;
    for (const JointPeak& peak : peaks) {
        const SiteOnBench& here = sheet.sites.at(static_cast<size_t>(peak.site - 1));
        const bool isTarget = here.state == SiteState::Replace;
        if (here.state == SiteState::Later || (isTarget && sheet.heat == HeatKind::Remove))
            continue;
        const bool isNew = isTarget && solders(sheet.heat);
        SitePasses passes{.site = peak.site, .allowed = sheet.strip.led.passesAllowed};
        passes.before = isNew ? 0 : here.passesBefore.value_or(factoryPasses);
        passes.inThisHeat = peak.hottestC >= meltsAgainFromC(sheet, isNew || here.refitted) ? 1 : 0;
        passes.after = passes.before + passes.inThisHeat;
        all.push_back(passes);
    }
    return all;
}

std::vector<std::string> passWarnings(std::span<const SitePasses> passes)
{
    std::map<std::pair<int, int>, std::vector<int>> sitesByCount; // before, allowed
    for (const SitePasses& one : passes)
        if (one.inThisHeat > 0 && one.after > one.allowed)
            sitesByCount[{one.before, one.allowed}].push_back(one.site);
    std::vector<std::string> warnings;
    for (const auto& [count, sites] : sitesByCount) {
        const bool single = sites.size() == 1;
        warnings.push_back((single ? "The LED at site " + siteList(sites) + " has"
                                   : "The LEDs at sites " + siteList(sites) + " have") +
                           " been through " + passesInWords(count.first) +
                           " and would go through one more: " + (single ? "its" : "their") + " data allow " +
                           std::to_string(count.second) + ".");
    }
    return warnings;
}

} // namespace stripwright
