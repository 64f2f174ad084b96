#include "planner/hand_cards.h"
#include "planner/placements.h"
#include "planner/plan_sheet.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static bool overridden(const BenchSheet& sheet, const std::string& name)
{
    return std::find(sheet.overrides.begin(), sheet.overrides.end(), name) != sheet.overrides.end();
}

static std::string millimetres(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    std::string figure = text;
    if (figure.ends_with(".0"))
        figure.resize(figure.size() - 2);
    return (figure == "-0" ? "0" : figure) + " mm";
}

static std::string sitesInWords(const std::vector<int>& sites)
{
    return (sites.size() == 1 ? "site " : "sites ") + siteList(sites);
}

// What to do, as a sentence of its own.
static std::string inWords(const PlacementPlan& plan)
{
    constexpr size_t mostShown = 4;
    const auto& all = plan.placements;
    if (all.size() == 1)
        return "Put the plate's start at " + millimetres(all[0].plateStartMm) + ".";
    static constexpr const char* numbers[] = {"Two", "Three", "Four"};
    std::string text = (all.size() <= mostShown ? numbers[all.size() - 2] : std::to_string(all.size())) +
                       std::string(" placements reach all: ");
    for (size_t i = 0; i < std::min(all.size(), mostShown); ++i)
        text += (i ? ", " : "") + sitesInWords(all[i].sites) + (i ? " from " : " with the plate from ") +
                millimetres(all[i].plateStartMm);
    return text + (all.size() > mostShown ? ", and so on." : ".");
}

static bool onPlate(const BenchSheet& sheet, int site)
{
    const double x = sheet.strip.siteXMm[site - 1];
    return x >= sheet.plateStartMm && x <= sheet.plateEndMm();
}

// Targets over the plate whose joints an edge of it keeps cooler. Nothing if one lies off the plate: that is
// a refusal, which names the same placements.
static void addUnevenTargets(const BenchSheet& sheet, std::vector<std::string>& warnings)
{
    constexpr double laidToMm = 0.1; // As exact as a position is shown.
    const PlacementPlan plan = placementsFor(sheet);
    std::vector<int> uneven;
    double nearestMm = 0;
    for (int site : sheet.targets()) {
        if (!onPlate(sheet, site))
            return;
        const double x = sheet.strip.siteXMm[site - 1];
        const double middleMm = (sheet.plateStartMm + sheet.plateEndMm()) / 2;
        const auto distanceMm = edgeDistanceMm(sheet, site);
        const bool even = plan.hasEvenPart ? !distanceMm || *distanceMm >= plan.edgeMm - laidToMm
                                           : std::abs(x - middleMm) <= laidToMm;
        if (even)
            continue;
        nearestMm = uneven.empty() ? *distanceMm : std::min(nearestMm, *distanceMm);
        uneven.push_back(site);
    }
    if (uneven.empty())
        return;
    const std::string where = uneven.size() == 1 ? "Site " + siteList(uneven) + " lies "
                                                 : "Sites " + siteList(uneven) + " lie down to ";
    const std::string rule = plan.hasEvenPart ? "the even part begins " + millimetres(plan.edgeMm) + " in. "
                                              : "the edges' reach of " + millimetres(plan.edgeMm) +
                                                    " leaves only the plate's middle. ";
    warnings.push_back(where + millimetres(nearestMm) +
                       " from the plate's edge, where a joint stays cooler; " + rule + inWords(plan));
}

std::vector<std::string> refusalsOf(const BenchSheet& sheet)
{
    std::vector<std::string> refusals;
    if (sheet.targets().empty())
        refusals.push_back("No site is marked for replacement: mark at least one.");
    std::vector<int> offPlate;
    for (int site : sheet.targets())
        if (!onPlate(sheet, site))
            offPlate.push_back(site);
    if (!offPlate.empty())
        refusals.push_back("Not on the plate: " + sitesInWords(offPlate) + ". " +
                           inWords(placementsFor(sheet)));
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
    std::vector<std::string> warnings;
    addUnevenTargets(sheet, warnings);
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
