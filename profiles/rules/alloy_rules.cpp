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

/// Least of the targets' peaks, over contact.
std::optional<double> poorestPeakC(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    std::optional<double> poorest;
    for (const JointPeak& peak : peaks)
        if (sheet.sites[static_cast<size_t>(peak.site - 1)].state == SiteState::Replace)
            poorest = std::min(poorest.value_or(peak.poorestC), peak.poorestC);
    return poorest;
}

std::optional<std::string> swapTooCold(const BenchSheet& sheet)
{
    const double oldC = oldMeltsC(sheet);
    const std::optional<double>& mostC = sheet.paste.peakC.max;
    if (sheet.heat != HeatKind::Swap || sheet.way != SwapWay::ChargeLaidCold || !mostC || oldC <= *mostC)
        return {};
    return std::string("The old joint ") + (sheet.oldAlloy ? "melts" : "may melt only") + " at " +
           rounded(oldC) + " °C, above what the new paste allows (" + rounded(*mostC) +
           " °C): take the LED off in a heat of its own, or by local heat, then fit.";
}

std::string shareInWords(double share)
{
    const long percent = std::lround(100 * share);
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
    const auto peakC = poorestPeakC(sheet, tooCold ? std::span<const JointPeak>() : peaks);
    const std::string where =
        std::string("Where ") + (swap ? "half" : "a fifth") + " of the new joint is old solder, ";
    if (mixed->liquidusC && *mixed->liquidusC > fresh.liquidusC + fitErrorK) {
        std::string words = where + "it melts fully only at " + rounded(*mixed->liquidusC) + " °C (est.)";
        if (peakC)
            words += "; planned peak at the poorest contact: " + rounded(*peakC) + " °C";
        words += ".";
        if (peakC && *peakC < *mixed->liquidusC)
            words += swap ? " Take two heats (way \"two-heats\"): wick the pads cold in between, then fit."
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

/// What of a joint is meant where it is said to begin to melt at `meltsFromC`.
std::string lastLiquidInWords(const BenchSheet& sheet, double meltsFromC)
{
    const Alloy& fresh = sheet.paste.alloy;
    if (!sheet.oldAlloy || sheet.oldAlloy->id == fresh.id)
        return "the solder";
    const auto mixed = mixedJoint(fresh, *sheet.oldAlloy, oldShare(sheet));
    if (!mixed || mixed->lastLiquidC > meltsFromC || mixed->lastLiquidShareMax <= 0)
        return "part of the solder";
    return shareInWords(mixed->lastLiquidShareMax) + " of the solder";
}

std::optional<std::string> runsTooHot(const BenchSheet& sheet)
{
    const auto running = runningTemperature(sheet);
    if (!sheet.usesFreshSolder() || !running)
        return {};
    const double meltsFromC = movableAboveC(sheet), roomK = meltsFromC - running->jointC;
    if (roomK >= serviceRoomK)
        return {};
    const std::string meltsAt = rounded(meltsFromC) + " °C, where it may begin to melt";
    const std::string runsAt =
        "In service the joint runs at about " + rounded(running->jointC) + " °C (est.), ";
    const std::string liquid = lastLiquidInWords(sheet, meltsFromC);
    if (roomK < 0)
        return runsAt + rounded(-roomK) + " K above " + meltsAt + ": whenever the strip is lit, " + liquid +
               " is liquid, and the LED may shift or fall off.";
    return runsAt + rounded(roomK) + " K below " + meltsAt + "; trade habit keeps " + rounded(serviceRoomK) +
           " K: so near its melting point " + liquid + " creeps, and the joint cracks early.";
}

/// Pads are wicked cold: within one heat nobody gets at them before the new joint is made.
std::string wayAround(const BenchSheet& sheet, const std::string& name)
{
    const std::string named = "name the override \"" + name + "\" in the sheet's \"overrides\"";
    if (sheet.heat == HeatKind::Fit)
        return "Wick the pads fully while the strip is cold, before any paste, and " + named +
               ", or choose another paste.";
    if (sheet.way == SwapWay::TwoHeats)
        return "Wick the pads fully while the strip is cold, between the two heats, and " + named +
               ", or choose another paste.";
    return "In one heat the pads stay hot and cannot be wicked: choose the way \"two-heats\", wick them "
           "fully while the strip is cold in between, and " +
           named +
           "; or choose another paste, or the way \"solder-left\" or \"warmed-led\", which put none of "
           "it into the joint.";
}

// Bi-Pb-Sn melts at 95 to 98 °C (Yoon & Lee, CALPHAD 22 (1998) 167): joints made so fall off in service.
std::optional<std::string> bismuthMeetsLead(const BenchSheet& sheet)
{
    if (!sheet.usesFreshSolder())
        return {};
    const Alloy& fresh = sheet.paste.alloy;
    const Alloy* old = sheet.oldAlloy ? &*sheet.oldAlloy : nullptr;
    const auto refused = [&](const char* paste, const char* oldHas, const std::string& name) {
        return std::string("A ") + paste + " paste on " +
               (old ? std::string(oldHas) + "-bearing old solder leaves"
                    : std::string("unknown old solder, which may hold ") + oldHas + ", may leave") +
               " a phase that melts near " + rounded(bismuthLeadC) + " °C. " + wayAround(sheet, name);
    };
    if (fresh.hasBismuth && (!old || old->hasLead) && !sheet.overridden("bismuth-over-lead"))
        return refused("bismuth", "lead", "bismuth-over-lead");
    if (fresh.hasLead && (!old || old->hasBismuth) && !sheet.overridden("lead-over-bismuth"))
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
