#include "planner/melting_heat.h"

#include "materials/lens_fit.h"
#include "planner/hand_cards.h"
#include "planner/limit_parts.h"
#include "planner/solder_melts.h"
#include "rules/alloy_rules.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"
#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

void addHandsFit(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const auto work = handWorkOf(sheet);
    if (!work)
        return;
    Limit fit = limitAt(StationKind::Joint, site, "hands_fit", "surely liquid, for the hands",
                        Metric::LiquidForHands, work->meltsC);
    fit.min = work->needS();
    limits.push_back(std::move(fit));
}

HeatAim meltingAim(const MeltRange& melt)
{
    constexpr double overLiquidusK = 25;
    return {.soakLowC = melt.solidusC - 30,
            .soakHighC = melt.solidusC,
            .soakS = 10,
            .turnC = melt.liquidusC,
            .peakC = melt.liquidusC + overLiquidusK,
            .holdS = 3,
            .rampMaxCPerS = bodyRiseCPerS};
}

void reachLimits(HeatAim& aim, const std::vector<Limit>& limits)
{
    for (const Limit& limit : limits)
        if (limit.metric == Metric::Peak && limit.min)
            aim.peakC = std::max(aim.peakC, *limit.min);
}

HeatAim handsAim(const BenchSheet& sheet, const std::vector<Limit>& limits)
{
    HeatAim aim = meltingAim(meltRangeOf(sheet));
    const auto work = handWorkOf(sheet);
    constexpr double coastsS = 15; // The plate's own fall gives the rest.
    aim.holdS = work ? std::max(aim.holdS, work->needS() - coastsS) : aim.holdS;
    reachLimits(aim, limits);
    return aim;
}

std::vector<std::string> meltingRefusals(const BenchSheet& sheet)
{
    std::vector<std::string> refusals = lensMisfits(sheet.strip);
    for (std::string& refusal : alloyRefusals(sheet))
        refusals.push_back(std::move(refusal));
    return refusals;
}

std::vector<std::string> meltingWarnings(const BenchSheet& sheet, std::span<const JointPeak> peaks)
{
    std::vector<std::string> warnings = alloyWarnings(sheet, peaks);
    for (std::string& warning : passWarnings(passesOf(sheet, peaks)))
        warnings.push_back(std::move(warning));
    return warnings;
}

namespace {

/// From when every target joint is liquid even as the plan has it coldest, and until when any may move in any
/// scenario.
struct Molten {
    double surelyFromS = 0;
    double maybeToS = 0;
};

Molten moltenTime(const HeatPlan& plan)
{
    const double meltsC = meltRangeOf(plan.sheet).liquidusC;
    const double movableC = movableAboveC(plan.sheet);
    Molten molten;
    for (int site : plan.sheet.targets()) {
        const PlanCurve* joint = curveOf(plan, jointOf(site));
        if (!joint)
            continue;
        molten.surelyFromS =
            std::max(molten.surelyFromS,
                     firstRiseThrough({plan.timeS, joint->lowC}, meltsC).value_or(plan.heaterOffS));
        for (const auto* level : {&joint->lowC, &joint->nominalC, &joint->highC})
            molten.maybeToS = std::max(
                molten.maybeToS, lastFallThrough({plan.timeS, *level}, movableC).value_or(plan.timeS.back()));
    }
    return molten;
}

/// When the first joint may be near melting, as the plan has it hottest.
std::optional<double> watchFromTime(const HeatPlan& plan)
{
    const auto melts = solderMelts(plan.sheet);
    std::optional<double> fromS;
    for (const int site : plan.sheet.targets()) {
        const PlanCurve* joint = curveOf(plan, jointOf(site));
        if (!melts || !joint)
            continue;
        if (const auto nearS =
                firstRiseThrough({plan.timeS, joint->highC}, melts->lowC - melts->pastyK - surelySolidBelowK))
            fromS = std::min(fromS.value_or(*nearS), *nearS);
    }
    return fromS;
}

} // namespace

void writeMeltingStages(HeatPlan& plan)
{
    constexpr double belowSolidusK = 20;
    const PlanCurve* joint = curveOf(plan, jointOf(plan.sheet.targets().front()));
    const MeltRange melt = meltRangeOf(plan.sheet);
    const Window soak = plan.sheet.heat == HeatKind::Fit ? plan.sheet.paste.soakBandC : Window();
    const Curve curve{plan.timeS, joint->nominalC};
    std::vector<std::pair<std::string, std::optional<double>>> ends;
    if (soak.min && soak.max) {
        ends.push_back({"preheat", firstRiseThrough(curve, *soak.min)});
        ends.push_back({"soak", firstRiseThrough(curve, *soak.max)});
    } else {
        ends.push_back({"preheat", firstRiseThrough(curve, melt.solidusC - belowSolidusK)});
    }
    ends.push_back({"reflow", firstRiseThrough(curve, melt.liquidusC)});
    ends.push_back({"peak", lastFallThrough(curve, melt.liquidusC)});
    ends.push_back({"cooling", plan.timeS.back()});
    double from = 0;
    for (const auto& [name, end] : ends) {
        if (!end || *end - from < 1)
            continue;
        plan.stages.push_back({name, from, *end});
        from = *end;
    }
    const double coast = coastS(plan.sheet.plate, plan.plateC.back(), plan.safeBelowC,
                                plan.sheet.air.ambientC, plan.sheet.cooling.fan);
    plan.stages.push_back({"cool-down", from, from + coast});
}

void cardBefore(HeatPlan& plan, const char* id, std::string text, std::string otherwise)
{
    plan.cards.push_back({id, -1, 0, std::move(text), "The plate is off.", std::move(otherwise), true});
}

void writeHandsOff(HeatPlan& plan)
{
    const double surelyFromS = moltenTime(plan).surelyFromS;
    const double watchFromS = std::min(watchFromTime(plan).value_or(surelyFromS), surelyFromS);
    const char* goesOn = "It warms through preheat to where the solder melts.";
    plan.cards.push_back({"hands-off", 0, watchFromS, "Hands off; watch that the strip lies flat.", goesOn,
                          "A strip pressed down in mid-heat jumps in temperature.", false});
    plan.cards.back().asksLiquid = true; // of a strip that lies better than any contact planned for
    if (watchFromS >= surelyFromS)
        return;
    const std::vector<int> targets = plan.sheet.targets();
    plan.cards.push_back(
        {watchSolderCard, watchFromS, surelyFromS,
         "Hands off; watch the solder at " + sitesInWords(targets) +
             (targets.size() == 1 ? ", which turns bright as it melts." : ": each turns bright as it melts."),
         goesOn, "Unless somebody says when, the run has only its estimate of the joints.", false});
    plan.cards.back().asksLiquid = true;
}

void writeHandCards(HeatPlan& plan, const std::string& idStem, const std::string& todo)
{
    const auto work = handWorkOf(plan.sheet);
    if (!work || !plan.hands)
        return;
    const std::vector<double>& doneS = plan.hands->doneS;
    double fromS = doneS.front() - work->eachS;
    plan.cards.push_back({"see-liquid", fromS - work->firstS, fromS,
                          "Look: the solder shines at every joint of " + sitesInWords(work->sites) +
                              "; a nudge makes the LED float. Tweezers in hand.",
                          "It holds the joints liquid.",
                          "An LED pulled before all of its solder is liquid takes its pads along.", false});
    plan.cards.back().asksLiquid = true;
    for (size_t i = 0; i < work->sites.size(); ++i) {
        const std::string number = std::to_string(work->sites[i]);
        plan.cards.push_back(
            {idStem + number, fromS, doneS[i], "Site " + number + ": " + todo, "It holds the joint liquid.",
             "Pulling before every pad is liquid tears pads off; late, the new joint has no time to wet.",
             false});
        plan.cards.back().asksLiquid = true;
        fromS = doneS[i];
    }
}

void writeCardsAfterHands(HeatPlan& plan)
{
    const Molten molten = moltenTime(plan);
    const double stillFromS =
        plan.hands && !plan.hands->doneS.empty() ? plan.hands->doneS.back() : molten.surelyFromS;
    const double stillToS = plan.liftAtS ? std::min(*plan.liftAtS, molten.maybeToS) : molten.maybeToS;
    plan.cards.push_back({"hold-still", stillFromS, std::max(stillFromS, stillToS),
                          "Do not touch or knock: joints are still liquid.", "It passes the peak and cools.",
                          "A joint moved while it sets is grainy and weak.", false});
    plan.cards.back().asksLiquid = plan.sheet.heat == HeatKind::Fit;
    if (plan.liftAtS) {
        const bool liquid = *plan.liftAtS < molten.maybeToS;
        plan.cards.push_back(
            {"lift-strip", *plan.liftAtS, *plan.liftAtS + 15,
             liquid ? "Lift the strip straight up, level and without a jerk: its joints are still liquid."
                    : "Lift the strip off the plate by its cold ends.",
             "The heater is off.", "Left on the plate it cools at the plate's own pace.", false});
    }
    plan.cards.push_back(
        {"cool-down", std::max(stillToS, plan.liftAtS ? *plan.liftAtS + 15 : 0), plan.stages.back().endS,
         "Leave plate and strip alone until both are below " + rounded(plan.safeBelowC) + " °C.",
         plan.sheet.cooling.fan ? "The heater is off and the fan cools it."
                                : "The heater is off and it cools by itself.",
         "Bare aluminium looks cold long before it is.", false});
}

} // namespace stripwright
