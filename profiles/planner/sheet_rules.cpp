#include "planner/bake_plan.h"
#include "planner/hand_cards.h"
#include "planner/plan_sheet.h"
#include "planner/release_rules.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static bool overridden(const BenchSheet& sheet, const std::string& name)
{
    return std::find(sheet.overrides.begin(), sheet.overrides.end(), name) != sheet.overrides.end();
}

std::vector<std::string> refusalsOf(const BenchSheet& sheet)
{
    std::vector<std::string> refusals;
    if (sheet.targets().empty())
        refusals.push_back(sheet.heat == HeatKind::Release
                               ? "No lens is marked for release: mark at least one."
                               : "No site is marked for replacement: mark at least one.");
    std::vector<int> offPlate;
    for (int site : sheet.targets()) {
        const double x = sheet.strip.siteXMm[site - 1];
        const bool mustLieOnIt =
            sheet.heat != HeatKind::Release; // Feet beside it are warmed along the strip.
        if (mustLieOnIt && (x < sheet.plateStartMm || x > sheet.plateEndMm()))
            offPlate.push_back(site);
    }
    if (!offPlate.empty())
        refusals.push_back("Not on the plate: " + std::string(offPlate.size() == 1 ? "site " : "sites ") +
                           siteList(offPlate) + ". Move the plate, or plan them apart.");
    if (!meltsJoints(sheet.heat)) {
        const auto more = sheet.heat == HeatKind::Bake ? bakeRefusals(sheet) : releaseRefusals(sheet);
        refusals.insert(refusals.end(), more.begin(), more.end());
        return refusals;
    }
    // Bi-Pb-Sn melts at 95 to 98 °C (Yoon & Lee, CALPHAD 22 (1998) 167): joints made so fall off in service.
    const bool leadPossible = !sheet.oldAlloy || sheet.oldAlloy->hasLead;
    if (sheet.heat != HeatKind::Remove && sheet.paste.alloy.hasBismuth && leadPossible &&
        !overridden(sheet, "bismuth-over-lead"))
        refusals.push_back(
            std::string("A bismuth paste on ") + (sheet.oldAlloy ? "lead-bearing" : "unknown") +
            " old solder leaves a phase that melts near 96 °C. Wick the pads fully and name the override "
            "\"bismuth-over-lead\", or choose another paste.");
    if (sheet.cooling.liftBelowC && *sheet.cooling.liftBelowC > sheet.paste.alloy.movableAboveC &&
        !sheet.cooling.acceptsMovingMolten)
        refusals.push_back("The strip would be lifted while its joints can still move: lift below " +
                           std::to_string(std::lround(sheet.paste.alloy.movableAboveC)) +
                           " °C, or accept it knowingly (accepts_moving_molten).");
    return refusals;
}

std::vector<std::string> warningsOf(const BenchSheet& sheet)
{
    if (!meltsJoints(sheet.heat))
        return sheet.heat == HeatKind::Bake ? bakeWarnings(sheet) : releaseWarnings(sheet);
    std::vector<std::string> warnings;
    if (sheet.heat == HeatKind::Swap && sheet.oldAlloy && sheet.oldAlloy->id != sheet.paste.alloy.id)
        warnings.push_back("Old solder is " + sheet.oldAlloy->name + ", the paste " + sheet.paste.alloy.name +
                           ": what stays on the pad mixes in and shifts where the joint melts.");
    if (!sheet.oldAlloy)
        warnings.push_back("Old solder is unknown: planned for the highest-melting one it may be.");
    std::vector<int> spent;
    for (int site : sheet.targets()) {
        const int before = sheet.sites[site - 1].passesBefore.value_or(1);
        if (before + 1 > sheet.strip.led.passesAllowed && sheet.heat != HeatKind::Swap)
            spent.push_back(site);
    }
    if (!spent.empty())
        warnings.push_back("Sites " + siteList(spent) +
                           " will have had more reflow passes than the LED's data allow (" +
                           std::to_string(sheet.strip.led.passesAllowed) + ").");
    return warnings;
}

} // namespace stripwright
