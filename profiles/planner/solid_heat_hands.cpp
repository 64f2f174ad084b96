#include "planner/solid_heat_hands.h"

#include "analysis/solid_heats.h"
#include "materials/drying_bake.h"
#include "planner/hand_cards.h"
#include "search/plate_reference.h"
#include "rules/wording.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

/// When a lens's glue has let go at every foot and contact, and when it sets again.
struct SoftTime {
    int site = 0;
    double fromS = 0, toS = 0;
};

std::vector<SoftTime> softTimes(const HeatPlan& plan)
{
    std::vector<SoftTime> times;
    const double letsGoC = plan.sheet.strip.glue->releaseHighC;
    for (const int site : plan.sheet.targets()) {
        SoftTime soft{site, plan.heaterOffS, plan.heaterOffS};
        if (const PlanCurve* foot = curveOf(plan, "farfoot_" + std::to_string(site))) {
            const Curve low{plan.timeS, foot->lowC};
            soft.fromS = firstRiseThrough(low, letsGoC).value_or(plan.heaterOffS);
            soft.toS = std::max(soft.fromS, lastFallThrough(low, letsGoC).value_or(soft.fromS));
        }
        times.push_back(soft);
    }
    std::stable_sort(times.begin(), times.end(),
                     [](const SoftTime& a, const SoftTime& b) { return a.fromS < b.fromS; });
    return times;
}

void addCoolDown(HeatPlan& plan, double fromS, const std::string& text)
{
    const double coast = coastS(plan.sheet.plate, plan.plateC.back(), plan.safeBelowC,
                                plan.sheet.air.ambientC, plan.sheet.cooling.fan);
    const double endS = std::max(fromS, plan.timeS.back()) + coast;
    plan.stages.push_back({"cool-down", plan.heaterOffS, endS});
    plan.cards.push_back({"cool-down", fromS, endS, text, "The heater is off and it cools by itself.",
                          "Bare aluminium looks cold long before it is.", false});
}

void addLift(HeatPlan& plan)
{
    if (plan.liftAtS)
        plan.cards.push_back({"lift-strip", *plan.liftAtS, *plan.liftAtS + 15,
                              "Lift the strip off the plate by its cold ends.", "The heater is off.",
                              "Left on the plate it cools at the plate's own pace.", false});
}

std::string hoursInWords(double seconds)
{
    const long minutes = std::lround(seconds / 60);
    return std::to_string(minutes / 60) + " h " + std::to_string(minutes % 60) + " min";
}

} // namespace

void writeReleaseCardsBefore(HeatPlan& plan)
{
    const std::string sites = sitesInWords(plan.sheet.targets());
    plan.cards.push_back({"mark-angles", -1, 0,
                          "A pencil line across foot and board at " + sites +
                              " keeps the angle of each lens; a tray with their numbers stands ready.",
                          "The plate is off.", "A lens put back turned throws its light aside.", true});
    plan.cards.push_back({"gloves", -1, 0,
                          "Heat-proof gloves that still feel, and the extraction close to the strip: hot "
                          "cyanoacrylate falls apart into vapour.",
                          "The plate is off.",
                          "The vapour stings eyes and nose and fogs lenses; a lens is held for seconds at " +
                              rounded(plan.sheet.strip.glue->releaseHighC) + " °C.",
                          true});
}

void writeReleaseHands(HeatPlan& plan)
{
    const std::vector<SoftTime> order = softTimes(plan);
    double lastFromS = 0, firstToS = plan.timeS.back();
    for (const SoftTime& soft : order) {
        lastFromS = std::max(lastFromS, soft.fromS);
        firstToS = std::min(firstToS, soft.toS);
    }
    constexpr double longestPerLensS = 30;
    const double eachS = std::clamp((firstToS - lastFromS) / static_cast<double>(order.size()), handsPerLensS,
                                    longestPerLensS);
    const double firstS = order.front().fromS;
    plan.stages.push_back({"warm-up", 0, firstS});
    plan.stages.push_back({"letting go", firstS, std::max(firstS, plan.heaterOffS)});
    plan.cards.push_back({"hands-off", 0, firstS,
                          "Hands off; try no lens before its card: the glue only looks soft.",
                          "It warms to where the glue lets go, and no further.",
                          "Forced early, a foot breaks off or tears the solder mask.", false});
    double freeS = firstS;
    for (const SoftTime& soft : order) {
        const double fromS = std::max(freeS, soft.fromS);
        freeS = fromS + eachS;
        plan.cards.push_back({"release-lens-" + std::to_string(soft.site), fromS, freeS,
                              "Lens " + std::to_string(soft.site) +
                                  ": hold it low by its rim, twist it a few degrees until it gives, lift it "
                                  "straight off and lay it in its place on the tray.",
                              "It holds the glue soft.",
                              "Levered, it tears the board; left on, its feet go on softening.", false});
    }
    addLift(plan);
    addCoolDown(plan, std::max(freeS, plan.liftAtS ? *plan.liftAtS + 15 : 0),
                "Leave plate and strip alone until both are below " + rounded(plan.safeBelowC) +
                    " °C; scrape glue off the cold board, note each lens's angle.");
}

void writeBakeHands(HeatPlan& plan)
{
    const double temperatureC = bakeTemperatureC(plan.sheet);
    double dryFromS = 0;
    for (const int site : plan.sheet.targets())
        if (const PlanCurve* body = curveOf(plan, "body_" + std::to_string(site)))
            dryFromS = std::max(
                dryFromS, firstRiseThrough({plan.timeS, body->lowC}, temperatureC).value_or(plan.heaterOffS));
    dryFromS = std::min(dryFromS, plan.heaterOffS);
    plan.stages.push_back({"warm-up", 0, dryFromS});
    plan.stages.push_back({"bake", dryFromS, plan.heaterOffS});
    plan.cards.push_back({"stay-through-bake", 0, plan.heaterOffS,
                          "Somebody stays at the bench for all " + hoursInWords(plan.heaterOffS) +
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

} // namespace stripwright
