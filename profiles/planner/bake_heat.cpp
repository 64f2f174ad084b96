#include "planner/bake_heat.h"

#include "materials/drying_bake.h"
#include "planner/hand_cards.h"
#include "planner/limit_parts.h"
#include "planner/solid_heat.h"
#include "rules/bake_rules.h"
#include "rules/wording.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

std::vector<Limit> limits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    const double temperatureC = bakeTemperatureC(sheet);
    const auto hours = bakeHours(sheet.strip.led, temperatureC, sheet.bake.overFloorLifeH);
    for (const int site : sheet.targets()) {
        if (hours) {
            Limit time = limitAt(StationKind::Body, site, "bake_time", "LED body at bake temperature",
                                 Metric::TimeAbove);
            time.levelC = temperatureC;
            time.min = *hours * 3600;
            limits.push_back(std::move(time));
        }
        Limit top =
            limitAt(StationKind::Body, site, "bake_top", "LED body above bake temperature", Metric::Peak);
        top.max = temperatureC + bakeToleranceK;
        top.habit = true;
        limits.push_back(std::move(top));
        addSolidTarget(limits, sheet, site);
        addBodyCaps(limits, StationKind::Body, sheet.strip.led, site, true);
    }
    addSolidJoints(limits, sheet);
    addKeptPartsOfSolidHeat(limits, sheet);
    return limits;
}

/// A bake is not searched for: bake_plan holds the plate where the bodies are at its temperature.
HeatAim aim(const BenchSheet& sheet, const std::vector<Limit>&)
{
    return {.peakC = bakeTemperatureC(sheet)};
}

std::vector<std::string> warnings(const BenchSheet& sheet, std::span<const JointPeak>)
{
    return bakeWarnings(sheet);
}

void cardsBefore(HeatPlan&) {}

void stagesAndCards(HeatPlan& plan)
{
    const double temperatureC = bakeTemperatureC(plan.sheet);
    double dryFromS = 0;
    for (const int site : plan.sheet.targets())
        if (const PlanCurve* body = curveOf(plan, {StationKind::Body, site}))
            dryFromS = std::max(
                dryFromS, firstRiseThrough({plan.timeS, body->lowC}, temperatureC).value_or(plan.heaterOffS));
    dryFromS = std::min(dryFromS, plan.heaterOffS);
    plan.stages.push_back({"warm-up", 0, dryFromS});
    plan.stages.push_back({"bake", dryFromS, plan.heaterOffS});
    plan.cards.push_back({"stay-through-bake", 0, plan.heaterOffS,
                          "Somebody stays at the bench for all " + clockInWords(plan.heaterOffS) +
                              ": take turns, or stop the heat before you leave.",
                          "It holds the LED bodies at " + rounded(temperatureC) + " to " +
                              rounded(temperatureC + bakeToleranceK) + " °C.",
                          "A hot plate that nobody watches can set the bench on fire; a bake broken off "
                          "starts again from nothing.",
                          false});
    addCoolDown(plan, plan.heaterOffS,
                "Leave plate and strip alone until both are below " + rounded(plan.safeBelowC) +
                    " °C; solder within the LED's floor life, or seal the strip in a dry bag.");
}

} // namespace

const HeatKindRules bakeHeat{limits, aim, bakeRefusals, warnings, cardsBefore, stagesAndCards};

} // namespace stripwright
