#include "materials/entry_keys.h"

#include <cmath>

namespace stripwright {

template <class Keys> void keysOf(Keys& keys, Composition& composition)
{
    keys.number("tin_share", composition.tinShare, within(0, 1));
    keys.numberIfAny("bismuth_share", composition.bismuthShare, within(0, 1));
    keys.numberIfAny("lead_share", composition.leadShare, within(0, 1));
    keys.numberIfAny("silver_share", composition.silverShare, within(0, 1));
    keys.numberIfAny("copper_share", composition.copperShare, within(0, 1));
    const double sum = composition.tinShare + composition.bismuthShare + composition.leadShare +
                       composition.silverShare + composition.copperShare;
    constexpr double unnamedShare = 0.02; // Nickel, germanium and the like.
    keys.require({"tin_share", "bismuth_share", "lead_share", "silver_share", "copper_share"},
                 std::abs(sum - 1) <= unnamedShare + 1e-9, "shares that sum to " + quoted(sum),
                 "shares by mass that sum to 1, within " + quoted(unnamedShare));
}

template <class Keys> void keysOf(Keys& keys, Alloy& alloy)
{
    keys.id(alloy.id);
    keys.text("name", alloy.name);
    keys.number("solidus_C", alloy.solidusC, within(40, 500));
    keys.number("liquidus_C", alloy.liquidusC, within(40, 500));
    if (Keys::reading)
        alloy.movableAboveC = alloy.solidusC;
    keys.numberIfAny("movable_above_C", alloy.movableAboveC, within(40, 500));
    keys.flag("has_bismuth", alloy.hasBismuth);
    keys.flag("has_lead", alloy.hasLead);
    keys.number("density_kg_per_m3", alloy.densityKgPerM3, within(1000, 25000));
    keys.number("heat_capacity_J_per_kgK", alloy.heatCapacityJPerKgK, within(50, 2000));
    keys.number("conductivity_W_per_mK", alloy.conductivityWPerMK, within(1, 500));
    keys.partIfAny("composition", alloy.composition);
    keys.habit(alloy.habit);
    keys.text("source", alloy.source);
    keys.require({"solidus_C", "liquidus_C"}, alloy.solidusC <= alloy.liquidusC, alloy.solidusC,
                 "at most liquidus_C, " + quoted(alloy.liquidusC));
    keys.require({"movable_above_C", "solidus_C"}, alloy.movableAboveC <= alloy.solidusC, alloy.movableAboveC,
                 "at most solidus_C, " + quoted(alloy.solidusC));
    if (!alloy.composition)
        return;
    keys.require({"has_bismuth", "composition"}, alloy.hasBismuth == (alloy.composition->bismuthShare > 0),
                 alloy.hasBismuth, "what composition/bismuth_share says");
    keys.require({"has_lead", "composition"}, alloy.hasLead == (alloy.composition->leadShare > 0),
                 alloy.hasLead, "what composition/lead_share says");
}

template <class Keys> void keysOf(Keys& keys, Paste& paste)
{
    keys.id(paste.id);
    keys.text("name", paste.name);
    keys.entry("alloy", paste.alloy);
    if (Keys::reading)
        paste.countLiquidusC = paste.alloy.liquidusC;
    keys.numberIfAny("count_liquidus_C", paste.countLiquidusC, within(40, 500));
    keys.window("ramp_C_per_s", paste.rampCPerS, within(0.05, 20), Sides::Max);
    keys.window("soak_band_C", paste.soakBandC, within(30, 400), Sides::Any);
    keys.window("soak_time_s", paste.soakTimeS, within(0, 1800), Sides::Any);
    keys.window("above_liquidus_s", paste.aboveLiquidusS, within(1, 1800), Sides::Both);
    keys.window("peak_C", paste.peakC, within(40, 500), Sides::Both);
    keys.window("cooling_C_per_s", paste.coolingCPerS, within(0.01, 20), Sides::Any);
    keys.window("time_to_peak_s", paste.timeToPeakS, within(10, 7200), Sides::Any);
    keys.habit(paste.habit);
    keys.text("source", paste.source);
    const bool soaks = paste.soakTimeS.min || paste.soakTimeS.max;
    const bool hasBand = paste.soakBandC.min && paste.soakBandC.max;
    const bool hasPartOfBand = paste.soakBandC.min || paste.soakBandC.max;
    keys.require({"soak_band_C", "soak_time_s"}, hasBand || (!soaks && !hasPartOfBand),
                 hasPartOfBand ? "one side" : "nothing",
                 "both min and max: soak time is counted from one to the other");
    if (paste.peakC.min)
        keys.require({"peak_C/min", "count_liquidus_C", "alloy", "peak_C"},
                     *paste.peakC.min > paste.countLiquidusC, *paste.peakC.min,
                     "a peak above the liquidus, " + quoted(paste.countLiquidusC));
}

template void keysOf(EntryReader&, Composition&);
template void keysOf(EntryWriter&, Composition&);
template void keysOf(EntryReader&, Alloy&);
template void keysOf(EntryWriter&, Alloy&);
template void keysOf(EntryReader&, Paste&);
template void keysOf(EntryWriter&, Paste&);

} // namespace stripwright
