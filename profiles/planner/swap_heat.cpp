#include "planner/swap_heat.h"

#include "planner/limit_parts.h"
#include "planner/melting_heat.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"
#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

namespace {

void addNewJoint(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const double newC = newMeltsC(sheet);
    const Wetting wetting = wettingOf(sheet);
    Limit wets =
        limitAt(StationKind::Joint, site, "wetting", "new joint liquid, to spread", Metric::Wetting, newC);
    wets.min = wetting.spreadS;
    limits.push_back(wets);
    if (wetting.slowSpreadS) {
        wets.id += "_habit";
        wets.min = wetting.slowSpreadS;
        wets.habit = true;
        limits.push_back(std::move(wets));
    }
    if (newC != oldMeltsC(sheet)) {
        Limit hot = limitAt(StationKind::Joint, site, "wets_hot", "peak with superheat for the new joint",
                            Metric::Peak);
        hot.min = newC + wettingSuperheatK;
        hot.habit = true;
        limits.push_back(std::move(hot));
    }
    Limit cooling = limitAt(StationKind::Joint, site, "mean_cooling", "mean cooling, peak to liquidus",
                            Metric::MeanCooling, newC);
    constexpr double leastCPerS = 1;
    cooling.min = leastCPerS;
    cooling.habit = true;
    limits.push_back(std::move(cooling));
}

void addNewLed(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const LedPackage& led = sheet.strip.led;
    constexpr double shockTaus =
        5; // Only its jump at set-down is waived; then the classification's ramp holds.
    Limit shock =
        limitAt(StationKind::Joint, site, "set_down_step", "step of the new LED at set-down", Metric::Shock);
    shock.max = mostShockK(led);
    shock.habit = true;
    limits.push_back(std::move(shock));
    addBodyCaps(limits, StationKind::NewLed, led, site, false);
    Limit ramp = limitAt(StationKind::NewLed, site, "ramp", "LED body, steepest heating once settled",
                         Metric::SteepestRise);
    ramp.max = bodyRiseCPerS;
    ramp.skipS = shockTaus * setDownBodyOf(sheet).tauS();
    limits.push_back(std::move(ramp));
    Limit fall = limitAt(StationKind::NewLed, site, "steepest_cooling", "LED body, steepest cooling",
                         Metric::SteepestFall);
    fall.max = bodyFallCPerS;
    limits.push_back(std::move(fall));
}

/// It follows the strip under it from the heat's start to its set-down.
void addSpare(std::vector<Limit>& limits, int site)
{
    constexpr double mostC = 150; // own caution: flux on it must not be spent before it is set down
    Limit ramp = limitAt(StationKind::Spare, site, "ramp", "new LED as it warms, steepest heating",
                         Metric::SteepestRise);
    ramp.max = bodyRiseCPerS;
    Limit peak = limitAt(StationKind::Spare, site, "peak", "new LED as it warms, peak", Metric::Peak);
    peak.max = mostC;
    peak.habit = true;
    limits.push_back(std::move(ramp));
    limits.push_back(std::move(peak));
}

/// Where the first of what lies at the joint melts; of an unknown old alloy only the charge counts.
double firstMeltC(const BenchSheet& sheet)
{
    const double chargeC = sheet.paste.alloy.solidusC;
    return sheet.oldAlloy ? std::min(chargeC, sheet.oldAlloy->solidusC) : chargeC;
}

/// A charge's solvents leave before the first melt, and its flux works from then on: until then the upper
/// sides of its paste's ramp and soak hold, beyond it none of the paste's windows, which are a whole joint's
/// of it.
void addCharge(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const Paste& paste = sheet.paste;
    const double meltsC = firstMeltC(sheet);
    const auto most = [&](Limit limit, const Window& window, bool habit) {
        limit.untilReachesC = meltsC;
        addWindow(limits, limit, Side{}, Side{window.max, window.maxIsHabit || paste.habit.whole || habit});
    };
    most(limitAt(StationKind::Joint, site, "ramp", "steepest heating until the charge melts",
                 Metric::SteepestRise),
         paste.rampCPerS, false);
    // What melts below the band never soaks.
    if (paste.soakBandC.min && paste.soakBandC.max && *paste.soakBandC.min < meltsC) {
        Limit soak = limitAt(StationKind::Joint, site, "soak_time", "soak time until the charge melts",
                             Metric::SoakTime, *paste.soakBandC.min);
        soak.upperLevelC = *paste.soakBandC.max;
        most(soak, paste.soakTimeS, paste.soakBandC.minIsHabit || paste.soakBandC.maxIsHabit);
    }
    Limit flux = limitAt(StationKind::Joint, site, "flux_life", "flux at work before the last set-down",
                         Metric::SpentBefore,
                         sheet.oldAlloy ? meltsC : std::min(meltsC, lowestOldLiquidusC)); // at the worst
    flux.max = fluxLifeS(sheet);
    flux.habit = true;
    limits.push_back(std::move(flux));
}

std::vector<Limit> limits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    for (const int site : sheet.targets()) {
        addOldAlloyNeed(limits, sheet, site);
        addHandsFit(limits, sheet, site);
        addNewJoint(limits, sheet, site);
        addNewLed(limits, sheet, site);
        if (sheet.way == SwapWay::ChargeLaidCold)
            addCharge(limits, sheet, site);
        if (sheet.way == SwapWay::WarmedLed && !sparesOf(sheet).empty())
            addSpare(limits, site);
        addLiquidTotal(limits, sheet, site);
        addDielectricCaps(limits, sheet.strip, site);
    }
    addKeptParts(limits, sheet);
    return limits;
}

std::vector<std::string> refusals(const BenchSheet& sheet)
{
    std::vector<std::string> refusals = meltingRefusals(sheet);
    if (sheet.way == SwapWay::WarmedLed && !sheet.spareIsClear())
        refusals.push_back("The new LED would lie on the plate or too near it while it warms: spare_mm must "
                           "be on the strip, "
                           "10 mm or more off the plate.");
    else if (const size_t spares = sheet.targets().size();
             sheet.way == SwapWay::WarmedLed && spares > 0 && sparesOf(sheet).empty())
        refusals.push_back("The strip has no room beyond the plate for " +
                           std::string(spares == 1 ? "a new LED" : "all new LEDs") + " to warm on: " +
                           (sheet.spareMm ? "a row of them from spare_mm runs off its end. Lay it nearer "
                                            "to the plate, or choose another way."
                                          : "from 35 mm off the plate on, between LEDs and lenses that stay. "
                                            "Choose another way."));
    return refusals;
}

/// Both sides of the choice, so that neither way sends to the other.
std::string ofUnknownSolder(const BenchSheet& sheet)
{
    const Alloy& fresh = sheet.paste.alloy;
    return std::string(sheet.usesFreshSolder() ? "Half of the new joint" : "The new joint") +
           " would be of the unknown old solder, no better and no worse than that has been. A known one "
           "takes "
           "two heats, wicked pads and paste (way \"two-heats\"" +
           (fresh.hasBismuth || fresh.hasLead ? ", with a paste with neither bismuth nor lead" : "") +
           "), in which each LED that stays melts once more.";
}

std::vector<std::string> warnings(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    std::vector<std::string> warnings = meltingWarnings(sheet, peaks);
    if (!sheet.oldAlloy)
        warnings.push_back(ofUnknownSolder(sheet));
    if (sheet.way == SwapWay::TinnedLed)
        warnings.push_back(
            "Tinning with an iron is the one hand soldering an LED's data sheet allows it, if any.");
    return warnings;
}

std::string sparePlacesInWords(const std::vector<SpareLed>& spares)
{
    std::string words;
    for (const SpareLed& spare : spares)
        words += (words.empty() ? "" : ", ") + millimetres(spare.xMm);
    return words;
}

std::string readyInWords(const BenchSheet& sheet)
{
    const std::string sites = sitesInWords(sheet.targets());
    const bool one = sheet.targets().size() == 1;
    const std::string leds = one ? "The new LED for " : "New LEDs for ";
    const std::string round = std::string("the same way round as ") + (one ? "it goes" : "they go") + " on, ";
    const std::string ready = (one ? " lies ready, " : " lie in a row, ") + round;
    const std::string film = std::string("a film of gel flux under ") + (one ? "it" : "each");
    switch (sheet.way) {
    case SwapWay::TinnedLed:
        return leds + sites + ", " + (one ? "its" : "their") + " pads tinned with the solder of " +
               sheet.paste.name + "," + ready + film + ", no paste.";
    case SwapWay::WarmedLed:
        if (sparesOf(sheet).empty()) // refused
            break;
        return leds + sites + (one ? " lies" : " lie") + " on the strip's cold overhang, " +
               (one ? "" : "in this order ") + "at " + sparePlacesInWords(sparesOf(sheet)) +
               " from its connector end, " + round + film + ", no paste; tweezers, " +
               (one ? "it gets hot." : "they get hot.");
    case SwapWay::ChargeLaidCold:
        return "A charge of " + sheet.paste.name +
               ", a dot or a bit of wire as large as one joint, lies against the old " +
               (one ? "joint at " : "joints at ") + sites + "; " + (one ? "the new LED" : "new LEDs") +
               ready + film + ".";
    case SwapWay::SolderLeft:
    case SwapWay::TwoHeats:
        break;
    }
    return leds + sites + ready + film + ", no paste: " + (one ? "it goes" : "they go") +
           " onto the solder that the old " + (one ? "one leaves." : "ones leave.");
}

void cardsBefore(HeatPlan& plan)
{
    cardBefore(plan, "flux-and-new-led", readyInWords(plan.sheet),
               "Looking for a part and its polarity takes longer than the solder stays liquid; paste on a "
               "hot pad spatters.");
}

void stagesAndCards(HeatPlan& plan)
{
    writeMeltingStages(plan);
    writeHandsOff(plan);
    writeHandCards(plan, "swap-led-",
                   "lift the dead LED straight up, then set the new one down, polarity as marked; nudge "
                   "it to the middle and let it float.");
    writeCardsAfterHands(plan);
}

} // namespace

const HeatKindRules swapHeat{limits, handsAim, refusals, warnings, cardsBefore, stagesAndCards};

} // namespace stripwright
