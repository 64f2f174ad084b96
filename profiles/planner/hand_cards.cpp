#include "planner/hand_cards.h"

#include "planner/solid_heat_hands.h"
#include "rules/alloy_rules.h"
#include "rules/wording.h"
#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

const PlanCurve* curveOf(const HeatPlan& plan, const std::string& station)
{
    for (const PlanCurve& curve : plan.curves)
        if (curve.station == station)
            return &curve;
    return nullptr;
}

namespace {

bool hasStripSensor(const BenchSheet& sheet)
{
    return sheet.stripSensorSite && sheet.isTarget(*sheet.stripSensorSite);
}

/// Stretch in which every target joint is liquid whatever the contact, and the one in which any of them may
/// be.
struct Molten {
    double surelyFromS = 0, surelyToS = 0;
    double maybeToS = 0;
};

Molten moltenTime(const HeatPlan& plan)
{
    const Paste& paste = plan.sheet.paste;
    double liquidusC = paste.alloy.liquidusC;
    if (plan.sheet.heat != HeatKind::Fit)
        liquidusC =
            std::max(liquidusC, plan.sheet.oldAlloy ? plan.sheet.oldAlloy->liquidusC : highestOldLiquidusC);
    const double movableC = movableAboveC(plan.sheet);
    Molten molten{0, plan.timeS.empty() ? 0 : plan.timeS.back(), 0};
    for (int site : plan.sheet.targets()) {
        const PlanCurve* joint = curveOf(plan, "joint_" + std::to_string(site));
        if (!joint)
            continue;
        const Curve low{plan.timeS, joint->lowC};
        molten.surelyFromS =
            std::max(molten.surelyFromS, firstRiseThrough(low, liquidusC).value_or(plan.heaterOffS));
        molten.surelyToS =
            std::min(molten.surelyToS, lastFallThrough(low, liquidusC).value_or(plan.heaterOffS));
        for (const auto* level : {&joint->lowC, &joint->nominalC, &joint->highC})
            molten.maybeToS = std::max(
                molten.maybeToS, lastFallThrough({plan.timeS, *level}, movableC).value_or(plan.timeS.back()));
    }
    molten.surelyToS = std::max(molten.surelyFromS, molten.surelyToS);
    return molten;
}

void writeStages(HeatPlan& plan)
{
    const PlanCurve* joint = curveOf(plan, "joint_" + std::to_string(plan.sheet.targets().front()));
    const Paste& paste = plan.sheet.paste;
    const Curve curve{plan.timeS, joint->nominalC};
    std::vector<std::pair<std::string, std::optional<double>>> ends;
    if (paste.soakBandC.min && paste.soakBandC.max) {
        ends.push_back({"preheat", firstRiseThrough(curve, *paste.soakBandC.min)});
        ends.push_back({"soak", firstRiseThrough(curve, *paste.soakBandC.max)});
    } else {
        ends.push_back({"preheat", firstRiseThrough(curve, paste.alloy.solidusC - 20)});
    }
    ends.push_back({"reflow", firstRiseThrough(curve, paste.countLiquidusC)});
    ends.push_back({"peak", lastFallThrough(curve, paste.countLiquidusC)});
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

void writeCardsBefore(HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    auto card = [&](const char* id, std::string text, std::string otherwise) {
        plan.cards.push_back({id, -1, 0, std::move(text), "The plate is off.", std::move(otherwise), true});
    };
    card("bench-ready",
         "Extraction on, eye protection on, nothing that burns within half a metre; the strip is "
         "disconnected and its driver "
         "discharged and measured dead. Stay at the bench until the plate is below " +
             rounded(plan.safeBelowC) + " °C.",
         "Fumes, burns and stored charge hurt. An independent cut-out must stand behind this software.");
    std::vector<int> off;
    if (sheet.strip.lens)
        for (size_t i = 0; i < sheet.strip.siteXMm.size(); ++i)
            if (!sheet.lensIsThere(static_cast<int>(i) + 1))
                off.push_back(static_cast<int>(i) + 1);
    if (!off.empty())
        card("lenses-off",
             "Lenses are off at " + sitesInWords(off) + "; note the angle of each for putting it back.",
             "A lens left there softens or its glue lets go.");
    if (sheet.heat == HeatKind::Release)
        writeReleaseCardsBefore(plan);
    if (sheet.heat == HeatKind::Fit)
        card("paste-and-led",
             "Pads at " + sitesInWords(sheet.targets()) + " carry a dot of " + sheet.paste.name +
                 " and the new LED, polarity checked.",
             "Without paste there is no joint.");
    if (sheet.heat == HeatKind::Swap)
        card("flux-and-new-led",
             "Flux on the pads at " + sitesInWords(sheet.targets()) + "; new LEDs, each with a dot of " +
                 sheet.paste.name + ", lie ready with their polarity known.",
             "There is about a minute to set them down.");
    for (size_t i = 0; i < sheet.sinkBlocks.size(); ++i) {
        const PlacedSinkBlock& placed = sheet.sinkBlocks[i];
        card(("sink-block-" + std::to_string(i + 1)).c_str(),
             placed.block.name + " is clamped under the strip from " + rounded(placed.startMm) + " to " +
                 rounded(placed.startMm + placed.block.lengthMm) + " mm.",
             "Lenses beyond it get hotter than planned.");
    }
    std::string sensor;
    if (hasStripSensor(sheet))
        sensor = " The thermocouple is held down on bare core or pad beside the joint of site " +
                 std::to_string(*sheet.stripSensorSite) + ", clear of LED and solder.";
    card("lay-strip",
         "The strip lies on the cold plate, plate edge at " + rounded(sheet.plateStartMm) +
             " mm from its connector end, contact: " + sheet.contact.name + "; one end is free to slide." +
             sensor,
         "A strip that does not lie flat heats late and unevenly; one fixed at both ends bows up.");
}

void writeCardsRaised(HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    if (!hasStripSensor(sheet))
        return;
    plan.cards.push_back(
        {"reseat-strip", 0, 0,
         "The strip does not lie on the plate as planned (" + sheet.contact.name +
             "). With a tool, not with fingers, press its cold ends down and free what holds it up; look "
             "whether the thermocouple at site " +
             std::to_string(*sheet.stripSensorSite) + " still touches the strip.",
         "It waits and holds its temperature.",
         "The strip stays far colder than the plate, and jumps in temperature once it comes down.", false,
         Raised::WhenNotSeated});
}

void writeCardsDuring(HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    const Molten molten = moltenTime(plan);
    plan.cards.push_back({"hands-off", 0, molten.surelyFromS, "Hands off; watch that the strip lies flat.",
                          "It warms through preheat and soak.",
                          "A strip pressed down in mid-heat jumps in temperature.", false});
    plan.cards.back().asksLiquid =
        true; // at the plan's nominal contact it turns before the hands may touch it
    double stillFromS = molten.surelyFromS;
    if (sheet.heat != HeatKind::Fit) {
        const std::vector<int> targets = sheet.targets();
        // The new joint must have its time to wet, so the hands get the first two thirds.
        const double eachS =
            (molten.surelyToS - molten.surelyFromS) * 2 / 3 / static_cast<double>(targets.size());
        for (int site : targets) {
            const std::string number = std::to_string(site);
            const bool swap = sheet.heat == HeatKind::Swap;
            plan.cards.push_back(
                {(swap ? "swap-led-" : "remove-led-") + number, stillFromS, stillFromS + eachS,
                 "Site " + number + ": lift the dead LED straight up" +
                     (swap ? " and set the new one down, polarity as marked." : "."),
                 "It holds the joint liquid.",
                 "Pulling before every pad is liquid tears pads off; late, the joint has set.", false});
            plan.cards.back().asksLiquid = true;
            stillFromS += eachS;
        }
    }
    const double stillToS = plan.liftAtS ? std::min(*plan.liftAtS, molten.maybeToS) : molten.maybeToS;
    plan.cards.push_back({"hold-still", stillFromS, std::max(stillFromS, stillToS),
                          "Do not touch or knock: joints are still liquid.", "It passes the peak and cools.",
                          "A joint moved while it sets is grainy and weak.", false});
    plan.cards.back().asksLiquid = sheet.heat == HeatKind::Fit;
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
         "The heater is off and it cools by itself.", "Bare aluminium looks cold long before it is.", false});
}

} // namespace

void writeStagesAndCards(HeatPlan& plan)
{
    plan.stages.clear();
    plan.cards.clear();
    if (plan.curves.empty() || plan.sheet.targets().empty())
        return;
    writeCardsBefore(plan);
    if (plan.sheet.heat == HeatKind::Release) {
        writeReleaseHands(plan);
    } else if (plan.sheet.heat == HeatKind::Bake) {
        writeBakeHands(plan);
    } else {
        writeStages(plan);
        writeCardsDuring(plan);
    }
    writeCardsRaised(plan);
}

} // namespace stripwright
