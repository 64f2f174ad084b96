#include "planner/fit_heat.h"

#include "planner/limit_parts.h"
#include "planner/melting_heat.h"
#include "rules/alloy_rules.h"
#include "rules/wording.h"

namespace stripwright {

namespace {

void addPasteWindows(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const Paste& paste = sheet.paste;
    const bool allHabit = paste.habit.whole, levelIsHabit = paste.habit.of("count_liquidus_C");
    const auto limit = [&](const char* id, const char* what, Metric metric, double levelC = 0,
                           double upperC = 0) {
        Limit one = limitAt(StationKind::Joint, site, id, what, metric, levelC);
        one.upperLevelC = upperC;
        return one;
    };
    addWindow(limits, limit("ramp", "steepest heating", Metric::SteepestRise), paste.rampCPerS, allHabit);
    if (paste.soakBandC.min && paste.soakBandC.max) {
        const bool bandIsHabit = paste.soakBandC.minIsHabit || paste.soakBandC.maxIsHabit;
        addWindow(
            limits,
            limit("soak_time", "soak time", Metric::SoakTime, *paste.soakBandC.min, *paste.soakBandC.max),
            paste.soakTimeS, allHabit || bandIsHabit);
    }
    addWindow(limits, limit("above_liquidus", "time above liquidus", Metric::TimeAbove, paste.countLiquidusC),
              paste.aboveLiquidusS, levelIsHabit);
    addWindow(limits, limit("peak", "joint peak", Metric::Peak), paste.peakC, allHabit);
    if (!paste.peakC.min || paste.peakC.minIsHabit || allHabit) {
        Limit melts = limit("paste_melts", "peak that melts the paste", Metric::Peak);
        melts.min = paste.alloy.liquidusC;
        limits.push_back(std::move(melts));
    }
    addWindow(
        limits,
        limit("mean_cooling", "mean cooling, peak to liquidus", Metric::MeanCooling, paste.countLiquidusC),
        Side{paste.coolingCPerS.min, paste.coolingCPerS.minIsHabit || levelIsHabit}, Side{});
    addWindow(limits, limit("time_to_peak", "time to peak", Metric::TimeToPeak), paste.timeToPeakS, allHabit);
}

std::vector<Limit> limits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    for (const int site : sheet.targets()) {
        addPasteWindows(limits, sheet, site);
        const Window& cooling = sheet.paste.coolingCPerS;
        addCaps(
            limits,
            limitAt(StationKind::Joint, site, "steepest_cooling", "steepest cooling", Metric::SteepestFall),
            {Side{bodyFallCPerS}, Side{cooling.max, cooling.maxIsHabit || sheet.paste.habit.whole}});
        addBodyCaps(limits, StationKind::Body, sheet.strip.led, site, false);
        addDielectricCaps(limits, sheet.strip, site);
    }
    addKeptParts(limits, sheet);
    return limits;
}

HeatAim aim(const BenchSheet& sheet, const std::vector<Limit>& limits)
{
    const Paste& paste = sheet.paste;
    HeatAim aim = meltingAim(meltRangeOf(sheet));
    aim.soakLowC = paste.soakBandC.min.value_or(aim.soakLowC);
    aim.soakHighC = paste.soakBandC.max.value_or(aim.soakHighC);
    aim.soakS = 0.7 * (paste.soakTimeS.min.value_or(30) + paste.soakTimeS.max.value_or(60)) / 2;
    aim.longestSoakS = paste.soakTimeS.max.value_or(60);
    aim.rampMaxCPerS = paste.rampCPerS.max.value_or(aim.rampMaxCPerS);
    if (paste.peakC.min && paste.peakC.max)
        aim.peakC = (*paste.peakC.min + *paste.peakC.max) / 2;
    reachLimits(aim, limits);
    return aim;
}

void cardsBefore(HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    cardBefore(plan, "paste-and-led",
               "Pads at " + sitesInWords(sheet.targets()) + ", wicked clean and cold again, carry a dot of " +
                   sheet.paste.name + " and the new LED, polarity checked.",
               "Without paste there is no joint; on a warm pad it slumps and dries.");
}

void stagesAndCards(HeatPlan& plan)
{
    writeMeltingStages(plan);
    writeHandsOff(plan);
    writeCardsAfterHands(plan);
}

} // namespace

const HeatKindRules fitHeat{limits, aim, meltingRefusals, meltingWarnings, cardsBefore, stagesAndCards};

} // namespace stripwright
