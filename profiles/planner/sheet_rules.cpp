#include "materials/lens_fit.h"
#include "planner/alloy_rules.h"
#include "planner/hand_cards.h"
#include "planner/plan_sheet.h"

#include <cmath>
#include <map>

namespace stripwright {

std::vector<std::string> refusalsOf(const BenchSheet& sheet)
{
    std::vector<std::string> refusals;
    if (sheet.targets().empty())
        refusals.push_back("No site is marked for replacement: mark at least one.");
    std::vector<int> offPlate;
    for (int site : sheet.targets()) {
        const double x = sheet.strip.siteXMm[site - 1];
        if (x < sheet.plateStartMm || x > sheet.plateEndMm())
            offPlate.push_back(site);
    }
    if (!offPlate.empty())
        refusals.push_back("Not on the plate: " + std::string(offPlate.size() == 1 ? "site " : "sites ") +
                           siteList(offPlate) + ". Move the plate, or plan them apart.");
    for (const std::string& misfit : lensMisfits(sheet.strip))
        refusals.push_back(misfit);
    for (std::string& refusal : alloyRefusals(sheet))
        refusals.push_back(std::move(refusal));
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

std::vector<std::string> warningsOf(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    std::vector<std::string> warnings = alloyWarnings(sheet, peaks);
    for (std::string& warning : passWarnings(passesOf(sheet, peaks)))
        warnings.push_back(std::move(warning));
    addLensWarnings(warnings, sheet);
    return warnings;
}

} // namespace stripwright
