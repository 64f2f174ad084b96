#include "rules/alloy_rules.h"

#include "rules/joint_solder.h"
#include "rules/residue.h"
#include "rules/running_temperature.h"
#include "rules/wording.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

constexpr double fitErrorK = 6; // A liquidus that moves by less is not worth a word.

/// Least of the targets' peaks, in the scenario in which they get least hot.
std::optional<double> coldestPeakC(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    std::optional<double> coldest;
    for (const JointPeak& peak : peaks)
        if (sheet.sites[static_cast<size_t>(peak.site - 1)].state == SiteState::Replace)
            coldest = std::min(coldest.value_or(peak.coldestC), peak.coldestC);
    return coldest;
}

std::string otherPaste(const BenchSheet& sheet);
std::optional<std::string> bismuthMeetsLead(const BenchSheet& sheet);

/// With what the fit of two heats is made: the sheet's paste only where that is not refused.
std::string fitsThen(const BenchSheet& sheet)
{
    BenchSheet twoHeats = sheet;
    twoHeats.way = SwapWay::TwoHeats;
    return (bismuthMeetsLead(twoHeats) ? "fit with " + otherPaste(sheet) : std::string("fit")) +
           " (way \"two-heats\").";
}

std::optional<std::string> swapTooCold(const BenchSheet& sheet)
{
    const double oldC = oldMeltsC(sheet);
    const std::optional<double>& mostC = sheet.paste.peakC.max;
    if (sheet.heat != HeatKind::Swap || sheet.way != SwapWay::ChargeLaidCold || !mostC || oldC <= *mostC)
        return {};
    return std::string("The old joint ") + (sheet.oldAlloy ? "melts" : "may melt only") + " at " +
           rounded(oldC) + " °C, above the peak that the charge's paste is made for (" + rounded(*mostC) +
           " °C): its flux is spent before the new LED is set down. Take the LED off in a heat of its own, "
           "or by local heat, then " +
           fitsThen(sheet);
}

long percentOf(double share)
{
    return std::lround(100 * share);
}

std::string shareInWords(double share)
{
    const long percent = percentOf(share);
    return percent > 0 ? "up to " + std::to_string(percent) + " %" : "traces";
}

void addResidueWarnings(std::vector<std::string>& warnings, const BenchSheet& sheet,
                        std::span<const JointPeak> peaks)
{
    const Alloy& fresh = sheet.paste.alloy;
    if (!sheet.usesFreshSolder() || !sheet.oldAlloy || sheet.oldAlloy->id == fresh.id)
        return;
    const Alloy& old = *sheet.oldAlloy;
    // A swap that cannot be made is followed by a fit on wicked pads.
    const bool tooCold = swapTooCold(sheet).has_value();
    const bool swap = sheet.heat == HeatKind::Swap && sheet.way != SwapWay::TwoHeats && !tooCold;
    const auto mixed = mixedJoint(fresh, old, swap ? oldShare(sheet) : residueOnWickedPad);
    if (!mixed) {
        warnings.push_back("Old solder is " + old.name + ", the paste " + fresh.name +
                           ": what stays on the pad mixes in and shifts where the joint melts.");
        return;
    }
    const auto peakC = coldestPeakC(sheet, tooCold ? std::span<const JointPeak>() : peaks);
    const std::string where =
        std::string("Where ") + (swap ? "half" : "a fifth") + " of the new joint is old solder, ";
    if (mixed->liquidusC && *mixed->liquidusC > fresh.liquidusC + fitErrorK) {
        std::string words = where + "it melts fully only at " + rounded(*mixed->liquidusC) + " °C (est.)";
        if (peakC)
            words += "; planned peak where it gets least hot: " + rounded(*peakC) + " °C";
        words += ".";
        if (peakC && *peakC < *mixed->liquidusC)
            words +=
                swap ? " Take the LED off in a heat of its own, wick the pads cold, then " + fitsThen(sheet)
                     : " Wick the pads better, while the strip is cold.";
        warnings.push_back(words);
    }
    // A share of 0 is one that is not known.
    if (mixed->lastLiquidC < fresh.solidusC - 1 && mixed->lastLiquidShareMax > 0)
        warnings.push_back(where + shareInWords(mixed->lastLiquidShareMax) +
                           " of it may stay liquid down to " + rounded(mixed->lastLiquidC) + " °C.");
    if (peakC && !swap && old.liquidusC > *peakC)
        warnings.push_back("What is left of the old solder melts by itself only at " +
                           rounded(old.liquidusC) +
                           " °C: at the planned peak it only dissolves, and the LED may stand tilted on it.");
}

/// Where a joint in service begins to melt, and how much of it does.
struct ServiceMelt {
    double fromC = 0;
    std::string of; ///< "the solder", "up to 23 % of the solder", ...
};

ServiceMelt serviceMelt(const BenchSheet& sheet)
{
    const Alloy& fresh = sheet.paste.alloy;
    const double fromC = movableAboveC(sheet);
    if (!sheet.usesFreshSolder() || (sheet.oldAlloy && sheet.oldAlloy->id == fresh.id))
        return {fromC, "the solder"};
    const auto mixed = sheet.oldAlloy ? mixedJoint(fresh, *sheet.oldAlloy, oldShare(sheet)) : std::nullopt;
    if (!mixed || mixed->lastLiquidC > fromC || mixed->lastLiquidShareMax <= 0)
        return {fromC, "part of the solder"};
    // Traces carry nothing: the joint is as strong as what is solid around them.
    if (percentOf(mixed->lastLiquidShareMax) == 0)
        return {sheet.heat == HeatKind::Fit ? fresh.movableAboveC
                                            : std::min(fresh.movableAboveC, sheet.oldAlloy->movableAboveC),
                "the solder"};
    return {fromC, shareInWords(mixed->lastLiquidShareMax) + " of the solder"};
}

std::optional<std::string> runsTooHot(const BenchSheet& sheet)
{
    const auto running = runningTemperature(sheet);
    if (!solders(sheet.heat) || !running)
        return {};
    const ServiceMelt melt = serviceMelt(sheet);
    const double roomK = melt.fromC - running->jointC;
    if (roomK >= serviceRoomK)
        return {};
    const std::string meltsAt = rounded(melt.fromC) + " °C, where it may begin to melt";
    const std::string runsAt =
        "In service the joint runs at about " + rounded(running->jointC) + " °C (est.), ";
    if (roomK < 0)
        return runsAt + rounded(-roomK) + " K above " + meltsAt + ": whenever the strip is lit, " + melt.of +
               " is liquid, and the LED may shift or fall off.";
    return runsAt + rounded(roomK) + " K below " + meltsAt + "; trade habit keeps " + rounded(serviceRoomK) +
           " K: so near its melting point " + melt.of + " creeps, and the joint cracks early.";
}

/// Only pads that hands get at cold are wicked: not within one heat.
bool padsCanBeWicked(const BenchSheet& sheet)
{
    return sheet.heat == HeatKind::Fit || sheet.way == SwapWay::TwoHeats;
}

// What the old solder may hold forbids one element in the paste; of an unknown one either.
std::string otherPaste(const BenchSheet& sheet)
{
    return !sheet.oldAlloy                ? "a paste with neither bismuth nor lead"
           : sheet.paste.alloy.hasBismuth ? "a paste without bismuth"
                                          : "a paste without lead";
}

/// Each advice ends in a sheet that this rule does not refuse.
std::string wayAround(const BenchSheet& sheet, const std::string& name)
{
    if (padsCanBeWicked(sheet))
        return std::string("Choose ") + otherPaste(sheet) +
               "; or wick the pads fully while the strip is cold, " +
               (sheet.heat == HeatKind::Fit ? "before any paste" : "between the two heats") +
               ", and say so by the override \"" + name + "\" in the sheet's \"overrides\".";
    return "In one heat the pads stay hot and cannot be wicked, so no override helps: choose " +
           otherPaste(sheet) +
           ", or the way \"solder-left\" or \"warmed-led\", which put none of it into the joint.";
}

// Bi-Pb-Sn melts at 95 to 98 °C (Yoon & Lee, CALPHAD 22 (1998) 167): joints made so fall off in service.
std::optional<std::string> bismuthMeetsLead(const BenchSheet& sheet)
{
    if (!sheet.usesFreshSolder())
        return {};
    const Alloy& fresh = sheet.paste.alloy;
    const Alloy* old = sheet.oldAlloy ? &*sheet.oldAlloy : nullptr;
    const auto wicked = [&](const char* name) { return padsCanBeWicked(sheet) && sheet.overridden(name); };
    const auto refused = [&](const char* paste, const char* oldHas, const std::string& name) {
        return std::string("A ") + paste + " paste on " +
               (old ? std::string(oldHas) + "-bearing old solder leaves"
                    : std::string("unknown old solder, which may hold ") + oldHas + ", may leave") +
               " a phase that melts near " + rounded(bismuthLeadC) + " °C. " + wayAround(sheet, name);
    };
    if (fresh.hasBismuth && (!old || old->hasLead) && !wicked("bismuth-over-lead"))
        return refused("bismuth", "lead", "bismuth-over-lead");
    if (fresh.hasLead && (!old || old->hasBismuth) && !wicked("lead-over-bismuth"))
        return refused("lead", "bismuth", "lead-over-bismuth");
    return {};
}

} // namespace

double movableAboveC(const BenchSheet& sheet)
{
    const Alloy& fresh = sheet.paste.alloy;
    const double oldC = sheet.oldAlloy ? sheet.oldAlloy->movableAboveC : lowestOldLiquidusC;
    if (!sheet.usesFreshSolder())
        return oldC;
    const bool bismuth = fresh.hasBismuth || !sheet.oldAlloy || sheet.oldAlloy->hasBismuth;
    const bool lead = fresh.hasLead || !sheet.oldAlloy || sheet.oldAlloy->hasLead;
    double lowestC = std::min(fresh.movableAboveC, oldC);
    if (sheet.oldAlloy && sheet.oldAlloy->id != fresh.id)
        if (const auto mixed = mixedJoint(fresh, *sheet.oldAlloy, residueOnWickedPad))
            lowestC = std::min(lowestC, mixed->lastLiquidC);
    if (bismuth)
        lowestC = std::min(lowestC, tinBismuthC);
    // An unknown old alloy is one alloy: its bismuth meets lead only in a paste with lead, and its lead
    // bismuth.
    if (bismuth && lead && (sheet.oldAlloy || fresh.hasBismuth || fresh.hasLead))
        lowestC = std::min(lowestC, bismuthLeadC);
    return lowestC;
}

std::vector<std::string> alloyRefusals(const BenchSheet& sheet)
{
    std::vector<std::string> refusals;
    if (const auto words = bismuthMeetsLead(sheet))
        refusals.push_back(*words);
    const double movableC = movableAboveC(sheet);
    if (sheet.cooling.liftBelowC && *sheet.cooling.liftBelowC > movableC &&
        !sheet.cooling.acceptsMovingMolten)
        refusals.push_back("The strip would be lifted while its joints can still move: lift below " +
                           rounded(movableC) +
                           " °C, or accept it knowingly (\"accepts_moving_molten\": true in the sheet's "
                           "\"cooling\").");
    return refusals;
}

std::vector<std::string> alloyWarnings(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    std::vector<std::string> warnings;
    if (!sheet.oldAlloy)
        warnings.push_back("Old solder is unknown: planned for the highest-melting one it may be, and its "
                           "joints count as movable down to " +
                           rounded(movableAboveC(sheet)) + " °C.");
    if (const auto words = swapTooCold(sheet))
        warnings.push_back(*words);
    addResidueWarnings(warnings, sheet, peaks);
    if (const auto words = runsTooHot(sheet))
        warnings.push_back(*words);
    return warnings;
}

} // namespace stripwright
