#include "planner/plan_sheet.h"

#include "planner/bake_plan.h"
#include "planner/hand_cards.h"
#include "planner/heat_kinds.h"
#include "planner/live_models.h"
#include "planner/new_leds.h"
#include "rules/bake_rules.h"
#include "rules/wording.h"
#include "search/scenario.h"
#include "search/shape_search.h"

#include <algorithm>
#include <set>

namespace stripwright {

namespace {

std::vector<double> firstSamples(const std::vector<double>& values, size_t count)
{
    return {values.begin(), values.begin() + static_cast<long>(std::min(count, values.size()))};
}

size_t indexAt(const std::vector<double>& timeS, double atS)
{
    return static_cast<size_t>(std::lower_bound(timeS.begin(), timeS.end(), atS) - timeS.begin());
}

/// Samples until the hottest target has fallen below 60 °C: later curves tell nothing about the joint.
size_t samplesToKeep(const PredictedHeat& answer, const BenchSheet& sheet)
{
    constexpr double coldC = 60;
    const std::vector<double>& timeS = answer.predictions[0].timeS;
    size_t keep = indexAt(timeS, answer.reference.heaterOffS + 1) + 1;
    for (int site : sheet.targets())
        for (const Prediction& prediction : answer.predictions) {
            const auto& joint = prediction.find(jointOf(site))->valueC;
            size_t i = timeS.size();
            while (i > 0 && joint[i - 1] < coldC)
                --i;
            keep = std::max(keep, i + 1);
        }
    return std::min(keep, timeS.size());
}

/// Why a lift that the sheet asks for is not in the plan, and what the hands do instead.
std::optional<std::string> liftLeftOut(const BenchSheet& sheet, const PredictedHeat& answer)
{
    if (!sheet.cooling.liftBelowC || answer.liftAtS)
        return {};
    const double belowC = *sheet.cooling.liftBelowC;
    for (size_t i = answer.predictions.size(); i-- > 0;)
        for (const int site : sheet.targets()) {
            const Prediction& prediction = answer.predictions[i];
            const std::vector<double>& jointC = prediction.find(jointOf(site))->valueC;
            if (lastFallThrough({prediction.timeS, jointC}, belowC))
                continue;
            const std::string where = "site " + std::to_string(site),
                              when = i == coldest    ? "in the coldest case"
                                     : i == asStated ? "as the sheet states it"
                                                     : "in the hottest case";
            const double highestC = *std::ranges::max_element(jointC);
            if (highestC < belowC)
                return "The plan has no lift: the joint of " + where + " comes to " + rounded(highestC) +
                       " °C " + when + " and never to the " + rounded(belowC) +
                       " °C below which the strip would be lifted (cooling/lift_below_C). Leave the strip on "
                       "the plate, or state a lower temperature.";
            return "The plan has no lift: " + when + " the joint of " + where + " does not cool below " +
                   rounded(belowC) + " °C within " + rounded(prediction.timeS.back() / 60) +
                   " min. Leave the strip on the plate, and lift it only once a contact thermometer beside " +
                   where + " reads below " + rounded(belowC) + " °C" +
                   (sheet.cooling.fan ? "." : "; a fan cools it sooner.");
        }
    return {};
}

const MarginRow* contactPeakOf(const PredictedHeat& answer)
{
    const auto row = std::ranges::find(answer.margins, "plate/contact_peak",
                                       [](const MarginRow& one) { return one.limit.id; });
    return row == answer.margins.end() ? nullptr : &*row;
}

} // namespace

static void sayWhatIsLeftAlone(HeatPlan& plan, const PlateReference& reference)
{
    const PlateType& plate = plan.sheet.plate;
    if (!plate.ownLoop)
        return;
    plan.leftAloneAtMostC = leftAloneAtMostC(reference, plate, plan.sheet.air.ambientC);
    if (plate.ownLoop->cutAfterS)
        plan.warnings.push_back(
            "If everything that drives this plate dies at the worst moment, it comes to " +
            rounded(*plan.leftAloneAtMostC) + " °C at most: it was seen to cut its heater after " +
            rounded(*plate.ownLoop->cutAfterS) + " s of silence. Its set-point goes up to " +
            rounded(plan.tripAboveC) + " °C, to drive its own loop.");
    else
        plan.warnings.push_back(
            "Nobody has seen this plate cut its heater when the line falls silent: if everything "
            "that drives it dies at the worst moment, it goes on to " +
            rounded(*plan.leftAloneAtMostC) +
            " °C at most and stays hot. The heat is planned "
            "for a set-point never far above the plate, and takes longer for it; prove its "
            "watchdog (connect), then plan again.");
}

HeatPlan planOf(const BenchSheet& sheet, const PredictedHeat& answer, bool placeIsChosen)
{
    HeatPlan plan;
    plan.sheet = sheet;
    plan.refusals = refusalsOf(sheet);
    const std::vector<JointPeak> peaks = jointPeaksOf(sheet, answer.predictions);
    plan.passes = passesOf(sheet, peaks);
    plan.warnings = warningsOf(sheet, peaks, placeIsChosen);
    if (const auto dryFirst = dryFirstWarning(sheet, answer.predictions))
        plan.warnings.push_back(*dryFirst);
    if (const auto noLift = liftLeftOut(sheet, answer))
        plan.warnings.push_back(*noLift);
    plan.runnable = answer.keepsLimits() && plan.refusals.empty();
    const size_t keep = samplesToKeep(answer, sheet);
    plan.timeS = firstSamples(answer.predictions[0].timeS, keep);
    plan.plateC = firstSamples(answer.reference.plateC, keep);
    plan.duty = firstSamples(answer.reference.duty, keep);
    plan.heaterOffS = answer.reference.heaterOffS;
    plan.liftAtS = answer.liftAtS;
    plan.margins = answer.margins;
    plan.hands = answer.hands;

    std::set<StationId> shown, parts;
    for (const MarginRow& row : answer.margins) {
        shown.insert(row.limit.station);
        if (row.limit.protects)
            parts.insert(row.limit.station);
    }
    for (const StationCurve& curve : answer.predictions[0].stations) {
        const StationId station = curve.station.id();
        constexpr double nearMm = 40;
        const bool nearbyBody =
            curve.station.kind != StationKind::Body || (curve.station.xMm > sheet.plateStartMm - nearMm &&
                                                        curve.station.xMm < sheet.plateEndMm() + nearMm);
        if (!shown.count(station) || !nearbyBody)
            continue;
        PlanCurve kept{station, {}, {}, {}};
        kept.lowC = firstSamples(curve.valueC, keep);
        kept.nominalC = firstSamples(answer.predictions[asStated].find(station)->valueC, keep);
        const size_t hottest = parts.count(station) ? hottestFor(answer, station) : hottestJoints;
        kept.highC = firstSamples(answer.predictions[hottest].find(station)->valueC, keep);
        plan.curves.push_back(std::move(kept));
    }
    addNewLeds(plan, answer);
    addLiveModels(plan, answer);
    // Room for the loop's overshoot and the heat still in the element, and no more (a host trip 15 K over the
    // peak).
    constexpr double tripRoomK = 15, leastTripRoomK = 8;
    const double hottest = *std::max_element(plan.plateC.begin(), plan.plateC.end());
    plan.tripAboveC = std::min(hottest + tripRoomK, sheet.plate.maxC);
    if (const MarginRow* contact = contactPeakOf(answer)) {
        if (contact->margin < 0)
            plan.warnings.push_back("The plate goes up to " + rounded(hottest) + " °C, and " +
                                    sheet.contact.name + " is said to stand " + rounded(*sheet.contact.maxC) +
                                    " °C: choose another contact, or renew it after each heat.");
        else // room for the overshoot all the same: a trip in mid reflow is a joint lost
            plan.tripAboveC =
                std::min(plan.tripAboveC, std::max(*sheet.contact.maxC, hottest + leastTripRoomK));
    }
    sayWhatIsLeftAlone(plan, answer.reference);
    writeStagesAndCards(plan);
    return plan;
}

static HeatPlan planWithoutCurves(const BenchSheet& sheet)
{
    HeatPlan plan;
    plan.sheet = sheet;
    plan.refusals = refusalsOf(sheet);
    plan.warnings = warningsOf(sheet);
    return plan;
}

static HeatPlan bakePlanOf(const BenchSheet& sheet)
{
    const PredictedBake bake = planBake(sheet);
    HeatPlan plan =
        bake.answer.margins.empty() ? planWithoutCurves(bake.sheet) : planOf(bake.sheet, bake.answer);
    plan.refusals.insert(plan.refusals.end(), bake.refusals.begin(), bake.refusals.end());
    plan.runnable = plan.runnable && plan.refusals.empty();
    return plan;
}

HeatPlan planSheet(const BenchSheet& sheet)
{
    const bool solid = !meltsJoints(sheet.heat);
    if (sheet.targets().empty() || (solid && !refusalsOf(sheet).empty()))
        return planWithoutCurves(sheet);
    return sheet.heat == HeatKind::Bake ? bakePlanOf(sheet) : planOf(sheet, searchShape(taskOf(sheet)));
}

} // namespace stripwright
