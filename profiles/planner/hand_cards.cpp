#include "planner/hand_cards.h"

#include "planner/heat_kinds.h"
#include "planner/melting_heat.h"

#include "rules/wording.h"
#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

const PlanCurve* curveOf(const HeatPlan& plan, StationId station)
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

void writeCardsBefore(HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    cardBefore(
        plan, "bench-ready",
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
        cardBefore(plan, "lenses-off",
                   "Lenses are off at " + sitesInWords(off) + "; note the angle of each for putting it back.",
                   "A lens left there softens or its glue lets go.");
    rulesOf(sheet.heat).cardsBefore(plan);
    for (size_t i = 0; i < sheet.sinkBlocks.size(); ++i) {
        const PlacedSinkBlock& placed = sheet.sinkBlocks[i];
        cardBefore(plan, ("sink-block-" + std::to_string(i + 1)).c_str(),
                   placed.block.name + " is clamped under the strip from " + millimetres(placed.startMm) +
                       " to " + millimetres(placed.startMm + placed.block.lengthMm) + ".",
                   "Lenses beyond it get hotter than planned.");
    }
    if (sheet.cooling.fan)
        cardBefore(plan, "fan-ready",
                   "The fan stands ready, its switch within reach of your free hand, and points at plate and "
                   "strip: from heater-off on, " +
                       clockInWords(plan.heaterOffS) +
                       " after the start, it blows; by itself where the plate's link switches it, else you "
                       "switch it on then.",
                   "Without it the strip cools more slowly than planned, and stays liquid for longer.");
    std::string sensor;
    if (hasStripSensor(sheet))
        sensor = " The thermocouple is held down on bare core or pad beside the joint of site " +
                 std::to_string(*sheet.stripSensorSite) + ", clear of LED and solder.";
    cardBefore(plan, "lay-strip",
               "The strip lies on the cold plate, plate edge at " + millimetres(sheet.plateStartMm) +
                   " from its connector end, contact: " + sheet.contact.name + "; one end is free to slide." +
                   sensor,
               "A strip that does not lie flat heats late and unevenly; one fixed at both ends bows up.");
}

/// One card is up at a time: what is due meanwhile stands in it.
void sayWhenTheFanIsDue(HeatPlan& plan)
{
    if (!plan.sheet.cooling.fan)
        return;
    const auto up = std::find_if(plan.cards.rbegin(), plan.cards.rend(), [&](const HandCard& card) {
        return card.comesByTime() && card.atS >= 0 && card.atS <= plan.heaterOffS &&
               plan.heaterOffS < card.untilS;
    });
    if (up != plan.cards.rend())
        up->text += " When the heater goes off meanwhile, the fan comes on: where the plate's link does not "
                    "switch it, your free hand does.";
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

} // namespace

void writeStagesAndCards(HeatPlan& plan)
{
    plan.stages.clear();
    plan.cards.clear();
    if (plan.curves.empty() || plan.sheet.targets().empty())
        return;
    writeCardsBefore(plan);
    rulesOf(plan.sheet.heat).stagesAndCards(plan);
    sayWhenTheFanIsDue(plan);
    writeCardsRaised(plan);
}

} // namespace stripwright
