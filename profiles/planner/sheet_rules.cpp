#include "planner/heat_kinds.h"

#include "materials/lens_fit.h"
#include "rules/placements.h"
#include "rules/wording.h"

#include <cmath>
#include <map>

namespace stripwright {

// What to do, as a sentence of its own.
static std::string inWords(const PlacementPlan& plan)
{
    constexpr size_t mostShown = 4;
    const auto& all = plan.placements;
    if (all.size() == 1)
        return "Put the plate's start at " + millimetres(all[0].plateStartMm) +
               " (placement/plate_start_mm of the sheet).";
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
static void addUnevenTargets(const BenchSheet& sheet, bool placeIsChosen, std::vector<std::string>& warnings)
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
                       " from the plate's edge, where a joint stays cooler; " + rule +
                       (placeIsChosen ? "The place was chosen for this heat, and its plan reckons with that."
                                      : inWords(plan)));
}

std::vector<std::string> refusalsOf(const BenchSheet& sheet)
{
    std::vector<std::string> refusals;
    if (sheet.targets().empty())
        refusals.push_back(
            sheet.heat == HeatKind::Release
                ? "No lens is marked for release: mark at least one (\"lens\": \"release\" of a "
                  "site in the sheet)."
                : "No site is marked for replacement: mark at least one (\"state\": "
                  "\"replace\" of a site in the sheet).");
    std::vector<int> offPlate;
    const bool mustLieOnIt = sheet.heat != HeatKind::Release; // Feet beside it are warmed along the strip.
    for (int site : sheet.targets())
        if (mustLieOnIt && !onPlate(sheet, site))
            offPlate.push_back(site);
    if (!offPlate.empty())
        refusals.push_back("Not on the plate: " + sitesInWords(offPlate) + ". " +
                           inWords(placementsFor(sheet)));
    const auto more = rulesOf(sheet.heat).refusals(sheet);
    refusals.insert(refusals.end(), more.begin(), more.end());
    return refusals;
}

static bool isMultipleOf(double angleDeg, double stepDeg)
{
    return std::abs(std::remainder(angleDeg, stepDeg)) < 1;
}

/// How to turn a lens, of one whose feet do not land at every rotation.
static std::string rotationInWords(const Rotations& rotations, int feet)
{
    // A foot at half a pitch from the far end points at the connector end if their number is odd.
    const bool along = isMultipleOf(rotations.middleDeg, 360.0 / feet) ||
                       isMultipleOf(rotations.middleDeg - 180, 360.0 / feet);
    const std::string within = ", within " + std::to_string(static_cast<int>(rotations.halfWidthDeg)) + "°";
    if (along)
        return "with one foot along the strip" + within;
    return "with one foot at " + std::to_string(std::lround(std::abs(rotations.middleDeg))) +
           "° to the strip's long axis" + within;
}

/// For lenses that come off and must go back on.
static void addLensWarnings(std::vector<std::string>& warnings, const BenchSheet& sheet)
{
    if (!sheet.strip.lens)
        return;
    std::map<std::string, std::vector<int>> sitesByRotation;
    for (const SiteOnBench& here : sheet.sites) {
        const auto rotations =
            sheet.lensStaysOn(here.site) ? std::nullopt : rotationsThatLand(sheet.strip, here.site);
        if (rotations && rotations->halfWidthDeg < 180.0 / sheet.strip.lens->footCount)
            sitesByRotation[rotationInWords(*rotations, sheet.strip.lens->footCount)].push_back(here.site);
    }
    for (const auto& [rotation, sites] : sitesByRotation)
        warnings.push_back(std::string(sites.size() == 1 ? "The lens at site " : "The lenses at sites ") +
                           siteList(sites) + (sites.size() == 1 ? " goes" : " go") + " back " + rotation +
                           ": turned otherwise, a foot does not land on the board.");
}

/// What lies between strip and plate may be spoilt by a heat that everything else stands.
static void addContactWarning(std::vector<std::string>& warnings, const BenchSheet& sheet)
{
    if (!sheet.contact.bare && !sheet.contact.maxC)
        warnings.push_back("How hot the contact may get is not stated (" + sheet.contact.name +
                           "), so no limit guards what lies between strip and plate: state its \"max_C\", "
                           "or \"bare\": true where there is nothing between them.");
}

std::vector<std::string> warningsOf(const BenchSheet& sheet, std::span<const JointPeak> peaks,
                                    bool placeIsChosen)
{
    std::vector<std::string> warnings = rulesOf(sheet.heat).warnings(sheet, peaks);
    addContactWarning(warnings, sheet);
    if (meltsJoints(sheet.heat)) {
        addUnevenTargets(sheet, placeIsChosen, warnings);
        addLensWarnings(warnings, sheet);
    }
    return warnings;
}

} // namespace stripwright
