#include "random_sheets.h"

#include "dice.h"

#include "materials/lens_fit.h"
#include "materials/problem.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

/// The strip cools towards the plate's edge: targets closer to it are no fair job.
constexpr double unevenMm = 20;

std::vector<int> sitesWithin(const StripType& strip, double startMm, double endMm)
{
    std::vector<int> sites;
    for (size_t i = 0; i < strip.siteXMm.size(); ++i)
        if (strip.siteXMm[i] >= startMm && strip.siteXMm[i] <= endMm)
            sites.push_back(static_cast<int>(i) + 1);
    return sites;
}

ContactCondition contactOf(const Shelf& shelf, Dice& dice)
{
    if (dice.chance(0.4))
        return dice.oneOf(shelf.contacts);
    ContactCondition contact;
    contact.id = "drawn";
    contact.name = "Drawn by lot";
    contact.nominalWPerM2K = std::round(dice.logBetween(500, 12000));
    contact.lowWPerM2K = std::round(contact.nominalWPerM2K * dice.between(0.45, 0.9));
    contact.highWPerM2K = std::round(contact.nominalWPerM2K * dice.between(1.1, 2.2));
    contact.source = "drawn by lot";
    return contact;
}

void placeTargets(BenchSheet& sheet, Dice& dice)
{
    const StripType& strip = sheet.strip;
    std::vector<int> reachable;
    do {
        const double aboutMm = dice.oneOf(strip.siteXMm);
        sheet.plateStartMm = std::round(aboutMm - sheet.plate.lengthMm * dice.between(0.38, 0.62));
        const double firstMm = std::max(sheet.plateStartMm, 0.0) + unevenMm;
        const double lastMm = std::min(sheet.plateEndMm(), strip.lengthMm) - unevenMm;
        reachable = sitesWithin(strip, firstMm, lastMm);
    } while (reachable.empty());
    const size_t wanted = 1 + static_cast<size_t>(dice.between(0, 3));
    for (size_t i = 0; i < wanted; ++i)
        sheet.sites[dice.oneOf(reachable) - 1].state = SiteState::Replace;
}

void takeLensesOff(BenchSheet& sheet, Dice& dice)
{
    if (!sheet.strip.lens)
        return;
    // Lenses 40 to 100 mm from the plate pass their caps with a hot alloy, nearer ones with a cool one.
    const double hot = std::clamp((sheet.paste.alloy.liquidusC - 138) / 80, 0.0, 1.0);
    const double capC = std::min(sheet.strip.lens->footMaxC, sheet.strip.glue->holdC);
    const double soft = std::clamp((140 - capC) / 60, 0.0, 1.0);
    const double reachMm = (40 + 60 * hot) * (0.3 + 0.7 * soft) * dice.between(0.9, 1.5);
    for (SiteOnBench& site : sheet.sites) {
        const double x = sheet.strip.siteXMm[site.site - 1];
        if (x > sheet.plateStartMm - reachMm && x < sheet.plateEndMm() + reachMm)
            site.lens = LensState::Off;
    }
    if (dice.chance(0.15))
        sheet.sites[static_cast<size_t>(dice.between(0, static_cast<double>(sheet.sites.size())))].lens =
            LensState::On;
}

} // namespace

BenchSheet randomSheet(const Shelf& shelf, std::uint64_t seed, int number, const PlateType* plate)
{
    Dice dice(seed, number);
    BenchSheet sheet;
    sheet.title = "Sheet " + std::to_string(number);
    sheet.paste = dice.oneOf(shelf.pastes);
    // Where a paste's least peak is only habit, no limit of a fit asks its joint to melt: no job to compare.
    const bool asksToMelt =
        sheet.paste.peakC.min && !sheet.paste.peakC.minIsHabit && !sheet.paste.habit.whole;
    sheet.heat = asksToMelt && dice.chance(0.5) ? HeatKind::Fit : HeatKind::Swap;
    sheet.oldAlloy = sheet.paste.alloy;
    sheet.strip = dice.oneOf(shelf.strips);
    sheet.strip.core.thicknessMm = std::round(10 * dice.between(0.8, 2.0)) / 10;
    sheet.strip.core.conductivityWPerMK = std::round(dice.between(130, 232));
    sheet.plate = dice.oneOf(shelf.plates);
    if (plate)
        sheet.plate = *plate;
    sheet.contact = contactOf(shelf, dice);
    sheet.air = stillAir(sheet.strip.widthMm, std::round(dice.between(15, 30)));
    sheet.cooling.fan = sheet.plate.fanLossWPerK > 0 && dice.chance(0.6);
    for (size_t i = 0; i < sheet.strip.siteXMm.size(); ++i)
        sheet.sites.push_back({.site = static_cast<int>(i) + 1});
    placeTargets(sheet, dice);
    takeLensesOff(sheet, dice);
    return sheet;
}

namespace {

constexpr size_t mostDead = 6;

/// Near each other, or anywhere on the strip, where a job takes several places of the plate.
void markDead(BenchSheet& sheet, Dice& dice)
{
    const size_t sites = sheet.sites.size(), dead = std::min(sites, 1 + dice.below(mostDead));
    const size_t span = dice.chance(0.3) ? sites : std::min(sites, dead + 2);
    const size_t first = dice.below(sites - span + 1);
    for (size_t marked = 0; marked < dead;) {
        SiteOnBench& site = sheet.sites[first + dice.below(span)];
        marked += site.state == SiteState::Good;
        site.state = SiteState::Replace;
    }
}

void layPlate(BenchSheet& sheet, Dice& dice)
{
    double first = sheet.strip.lengthMm, last = 0;
    for (const SiteOnBench& site : sheet.sites)
        if (site.state == SiteState::Replace) {
            first = std::min(first, sheet.strip.siteXMm[static_cast<size_t>(site.site) - 1]);
            last = std::max(last, sheet.strip.siteXMm[static_cast<size_t>(site.site) - 1]);
        }
    const double aboutMm = last - first < sheet.plate.lengthMm ? (first + last) / 2 : first;
    sheet.plateStartMm = std::round(aboutMm - sheet.plate.lengthMm * dice.between(0.42, 0.58));
}

/// A lens of the shelf that fits a strip that has some, in any glue.
void glueLensesOn(StripType& strip, const Shelf& shelf, Dice& dice)
{
    if (!strip.lens)
        return;
    const Lens own = *strip.lens;
    strip.lens = dice.oneOf(shelf.lenses);
    if (!lensMisfits(strip).empty())
        strip.lens = own;
    strip.glue = dice.oneOf(shelf.glues);
}

BenchSheet drawnJob(const Shelf& shelf, Dice& dice)
{
    constexpr HeatKind kinds[] = {HeatKind::Swap, HeatKind::Fit, HeatKind::Remove, HeatKind::Release,
                                  HeatKind::Bake};
    constexpr SwapWay ways[] = {SwapWay::SolderLeft, SwapWay::TinnedLed, SwapWay::WarmedLed,
                                SwapWay::ChargeLaidCold, SwapWay::TwoHeats};
    BenchSheet sheet;
    sheet.heat = dice.chance(0.4) ? HeatKind::Swap : kinds[dice.below(std::size(kinds))];
    sheet.way = ways[dice.below(std::size(ways))];
    if (sheet.heat != HeatKind::Swap)
        sheet.way = SwapWay::SolderLeft;
    sheet.paste = dice.oneOf(shelf.pastes);
    sheet.oldAlloy = sheet.paste.alloy;
    if (dice.chance(0.15))
        sheet.oldAlloy = dice.oneOf(shelf.alloys);
    if (dice.chance(0.1))
        sheet.oldAlloy.reset();
    sheet.strip = dice.oneOf(shelf.strips);
    glueLensesOn(sheet.strip, shelf, dice);
    sheet.plate = dice.oneOf(shelf.plates);
    sheet.contact = contactOf(shelf, dice);
    sheet.air = stillAir(sheet.strip.widthMm, std::round(dice.between(15, 30)));
    const bool fan = dice.chance(0.5);
    sheet.cooling.fan = fan && sheet.plate.fanLossWPerK > 0;
    for (size_t i = 0; i < sheet.strip.siteXMm.size(); ++i)
        sheet.sites.push_back({.site = static_cast<int>(i) + 1});
    markDead(sheet, dice);
    layPlate(sheet, dice);
    if (meltsJoints(sheet.heat) && dice.chance(0.7))
        takeLensesOff(sheet, dice);
    if (dice.chance(0.5))
        sheet.bake.overFloorLifeH = std::round(dice.logBetween(1, 500));
    return sheet;
}

} // namespace

BenchSheet randomJob(const Shelf& shelf, std::uint64_t seed, int number)
{
    Dice dice(seed, number);
    for (;;) {
        BenchSheet sheet = drawnJob(shelf, dice);
        if (sheet.heat == HeatKind::Release && !sheet.strip.lens)
            continue;
        sheet.title = "Job " + std::to_string(number);
        try {
            return readBenchSheet(toJson(sheet), sheet.title, "", {});
        } catch (const BadInput&) { // e.g. a plate beside the strip, a lens that this strip cannot carry
        }
    }
}

} // namespace stripwright
