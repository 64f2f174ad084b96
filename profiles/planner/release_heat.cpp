#include "planner/release_heat.h"

#include "planner/hand_cards.h"
#include "planner/limit_parts.h"
#include "planner/solid_heat.h"
#include "rules/joint_solder.h"
#include "rules/release_rules.h"
#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

namespace {

std::vector<Limit> limits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    const std::vector<int> targets = sheet.targets();
    if (!sheet.strip.lens || !sheet.strip.glue)
        return limits;
    const Lens& lens = *sheet.strip.lens;
    const Glue& glue = *sheet.strip.glue;
    for (const int site : targets) {
        if (glue.letsGo) {
            Limit letsGo =
                limitAt(StationKind::FarFoot, site, "lets_go", "glue lets go at every foot", Metric::Peak);
            letsGo.min = glue.releaseHighC; // What the heat is for, so no habit whatever it was taken from.
            limits.push_back(std::move(letsGo));
            Limit held =
                limitAt(StationKind::FarFoot, site, "held", "glue soft at every foot", Metric::TimeAbove);
            held.levelC = glue.releaseHighC;
            held.min = handsPerLensS * static_cast<double>(targets.size());
            held.habit = true;
            Limit noLonger = limitAt(StationKind::Glue, site, "no_longer", "glue soft no longer than needed",
                                     Metric::TimeAbove);
            noLonger.levelC = glue.releaseHighC;
            noLonger.max = *held.min + noLongerS;
            noLonger.habit = true;
            Limit noFurther =
                limitAt(StationKind::Glue, site, "no_further", "glue no hotter than needed", Metric::Peak);
            noFurther.max = glue.releaseHighC + noFurtherK;
            noFurther.habit = true;
            for (Limit* each : {&held, &noLonger, &noFurther})
                limits.push_back(std::move(*each));
        }
        Limit foot = limitAt(StationKind::Glue, site, "foot", "foot of the lens coming off", Metric::Peak);
        foot.max = lens.footMaxC;
        foot.habit = true;
        limits.push_back(std::move(foot));
        Limit optic = limitAt(StationKind::Lens, site, "peak", "lens peak", Metric::Peak);
        optic.max = lens.bodyMaxC;
        optic.habit = lens.habit.of("body_max_C");
        limits.push_back(std::move(optic));
        addSolidTarget(limits, sheet, site);
        Limit soon = limitAt(StationKind::Joint, site, "time_to_peak", "time to peak", Metric::TimeToPeak);
        soon.max = longestReleaseS;
        soon.habit = true;
        limits.push_back(std::move(soon));
    }
    addSolidJoints(limits, sheet);
    addKeptPartsOfSolidHeat(limits, sheet);
    return limits;
}

HeatAim aim(const BenchSheet& sheet, const std::vector<Limit>&)
{
    const double letsGoC = sheet.strip.glue ? sheet.strip.glue->releaseHighC : 0;
    return {.soakLowC = letsGoC - 15,
            .soakHighC = letsGoC - 5,
            .soakS = 30,
            .turnC = letsGoC,
            .peakC = letsGoC + noFurtherK / 2,
            .holdS = handsPerLensS * static_cast<double>(sheet.targets().size())};
}

std::vector<std::string> warnings(const BenchSheet& sheet, std::span<const JointPeak>)
{
    return releaseWarnings(sheet);
}

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
        if (const PlanCurve* foot = curveOf(plan, {StationKind::FarFoot, site})) {
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

void addLift(HeatPlan& plan)
{
    if (plan.liftAtS)
        plan.cards.push_back({"lift-strip", *plan.liftAtS, *plan.liftAtS + 15,
                              "Lift the strip off the plate by its cold ends.", "The heater is off.",
                              "Left on the plate it cools at the plate's own pace.", false});
}

void cardsBefore(HeatPlan& plan)
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

void stagesAndCards(HeatPlan& plan)
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

} // namespace

const HeatKindRules releaseHeat{limits, aim, releaseRefusals, warnings, cardsBefore, stagesAndCards};

} // namespace stripwright
