#include "rules/passes.h"
#include "rules/wording.h"

#include <map>

namespace stripwright {

namespace {

std::string times(int count)
{
    return count == 1 ? "once" : std::to_string(count) + " times";
}

} // namespace

std::vector<SitePasses> passesOf(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    constexpr int factoryPasses = 1;
    const double oldLiquidusC = sheet.oldAlloy ? sheet.oldAlloy->liquidusC : lowestOldLiquidusC;
    std::vector<SitePasses> all;
    for (const JointPeak& peak : peaks) {
        const SiteOnBench& here = sheet.sites.at(static_cast<size_t>(peak.site - 1));
        const bool isTarget = here.state == SiteState::Replace;
        if (here.state == SiteState::Later || (isTarget && sheet.heat == HeatKind::Remove))
            continue;
        const bool isNew = isTarget && solders(sheet.heat);
        SitePasses passes{.site = peak.site, .allowed = sheet.strip.led.passesAllowed};
        passes.before = isNew ? 0 : here.passesBefore.value_or(factoryPasses);
        passes.inThisHeat =
            peak.hottestC >= (isNew && sheet.usesFreshSolder() ? sheet.paste.alloy.liquidusC : oldLiquidusC)
                ? 1
                : 0;
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
        warnings.push_back((single ? "Site " + siteList(sites) + "'s LED has been above liquidus "
                                   : "The LEDs at sites " + siteList(sites) + " have been above liquidus ") +
                           times(count.first) + " and would be again: " + (single ? "its" : "their") +
                           " data allow " + std::to_string(count.second) + ".");
    }
    return warnings;
}

} // namespace stripwright
