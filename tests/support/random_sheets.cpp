#include "random_sheets.h"

#include <algorithm>
#include <cmath>
#include <random>

namespace stripwright {

namespace {

/// The standard's engines are the same everywhere, its distributions are not.
class Dice {
public:
    Dice(std::uint64_t seed, int number) : engine_(seed * 1000003 + static_cast<std::uint64_t>(number))
    {
        engine_.discard(8);
    }
    double between(double low, double high)
    {
        return low + (high - low) * static_cast<double>(engine_() >> 11) * 0x1p-53;
    }
    double logBetween(double low, double high) { return std::exp(between(std::log(low), std::log(high))); }
    bool chance(double share) { return between(0, 1) < share; }
    template <class Entry> const Entry& oneOf(const std::vector<Entry>& entries)
    {
        return entries[static_cast<size_t>(engine_() % entries.size())];
    }

private:
    std::mt19937_64 engine_;
};

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

} // namespace stripwright
