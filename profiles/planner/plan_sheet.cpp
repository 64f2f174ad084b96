#include "planner/plan_sheet.h"

#include "planner/bake_plan.h"
#include "planner/hand_cards.h"
#include "planner/shape_search.h"

#include <algorithm>
#include <cmath>
#include <future>
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
size_t samplesToKeep(const Answer& answer, const BenchSheet& sheet)
{
    constexpr double coldC = 60;
    const std::vector<double>& timeS = answer.predictions[0].timeS;
    size_t keep = indexAt(timeS, answer.reference.heaterOffS + 1) + 1;
    for (int site : sheet.targets())
        for (const Prediction& prediction : answer.predictions) {
            const auto& joint = prediction.find("joint_" + std::to_string(site))->valueC;
            size_t i = timeS.size();
            while (i > 0 && joint[i - 1] < coldC)
                --i;
            keep = std::max(keep, i + 1);
        }
    return std::min(keep, timeS.size());
}

/// Least squares over a grid of lags; for each lag the gain is linear.
JointModel::Fit fitJoint(const std::vector<double>& timeS, const std::vector<double>& plateC,
                         const std::vector<double>& jointC, double ambientC)
{
    JointModel::Fit best;
    double bestSum = std::numeric_limits<double>::infinity();
    for (double lagS = 0.5; lagS <= 60; lagS *= 1.1) {
        double filtered = 0, xx = 0, xy = 0;
        std::vector<double> shape;
        for (size_t i = 0; i < plateC.size(); ++i) {
            const double keep = i == 0 ? 1 : std::exp((timeS[i - 1] - timeS[i]) / lagS);
            const double drive = i == 0 ? 0 : (plateC[i] + plateC[i - 1]) / 2 - ambientC;
            filtered = keep * filtered + (1 - keep) * drive;
            shape.push_back(filtered);
            xx += filtered * filtered;
            xy += filtered * (jointC[i] - ambientC);
        }
        if (xx <= 0)
            continue;
        const double gain = xy / xx;
        double sum = 0, worst = 0;
        for (size_t i = 0; i < shape.size(); ++i) {
            const double error = ambientC + gain * shape[i] - jointC[i];
            sum += error * error;
            worst = std::max(worst, std::abs(error));
        }
        if (sum < bestSum) {
            bestSum = sum;
            best = {gain, lagS, worst};
        }
    }
    return best;
}

HeatPlan planOf(const BenchSheet& sheet, const Answer& answer)
{
    HeatPlan plan;
    plan.sheet = sheet;
    plan.refusals = refusalsOf(sheet);
    plan.warnings = warningsOf(sheet);
    if (const auto dryFirst = dryFirstWarning(sheet, answer))
        plan.warnings.push_back(*dryFirst);
    plan.runnable = answer.keepsLimits() && plan.refusals.empty();
    const size_t keep = samplesToKeep(answer, sheet);
    plan.timeS = firstSamples(answer.predictions[0].timeS, keep);
    plan.plateC = firstSamples(answer.reference.plateC, keep);
    plan.duty = firstSamples(answer.reference.duty, keep);
    plan.heaterOffS = answer.reference.heaterOffS;
    plan.liftAtS = answer.liftAtS;
    plan.margins = answer.margins;

    std::set<std::string> shown;
    for (const MarginRow& row : answer.margins)
        shown.insert(row.limit.station);
    for (const StationCurve& curve : answer.predictions[0].stations) {
        const std::string& name = curve.station.name;
        const bool nearbyBody =
            curve.station.kind != StationKind::Body || curve.station.xMm > sheet.plateStartMm - 40;
        if (!shown.count(name) || !nearbyBody)
            continue;
        PlanCurve kept{name, {}, {}, {}};
        kept.lowC = firstSamples(curve.valueC, keep);
        kept.nominalC = firstSamples(answer.predictions[1].find(name)->valueC, keep);
        kept.highC = firstSamples(answer.predictions[2].find(name)->valueC, keep);
        plan.curves.push_back(std::move(kept));
    }
    for (int site : sheet.targets()) {
        auto fit = [&](size_t level) {
            const auto& joint = answer.predictions[level].find("joint_" + std::to_string(site))->valueC;
            // A lifted strip no longer follows the plate, and a bake's cooling is sampled coarsely.
            const bool coarse = sheet.heat == HeatKind::Bake;
            const size_t until = answer.liftAtS ? static_cast<size_t>(*answer.liftAtS)
                                 : coarse       ? indexAt(plan.timeS, plan.heaterOffS)
                                                : keep;
            return fitJoint(plan.timeS, firstSamples(plan.plateC, until), firstSamples(joint, until),
                            sheet.air.ambientC);
        };
        plan.joints.push_back({site, fit(0), fit(1), fit(2)});
    }
    // Room for the loop's overshoot and the heat still in the element, and no more (a host trip 15 K over the
    // peak).
    constexpr double tripRoomK = 15;
    const double hottest = *std::max_element(plan.plateC.begin(), plan.plateC.end());
    plan.tripAboveC = std::min(hottest + tripRoomK, sheet.plate.maxC);
    writeStagesAndCards(plan);
    return plan;
}

std::string signedFigure(double value, const Limit& limit)
{
    char text[32];
    const bool rate = std::string(limit.unit()) == "K/s";
    std::snprintf(text, sizeof text, rate ? "%+.2f" : "%+.0f", value);
    const std::string unit = limit.unit();
    return std::string(text) + " " + (unit == "°C" ? "K" : unit);
}

std::vector<int> lensesToTakeOff(const HeatPlan& plan)
{
    std::set<int> sites;
    for (const MarginRow& row : plan.margins) {
        const std::string& station = row.limit.station;
        if (row.limit.habit || row.margin >= 0)
            continue;
        for (const char* kind : {"glue_", "lens_"})
            if (station.rfind(kind, 0) == 0)
                sites.insert(std::stoi(station.substr(5)));
    }
    return {sites.begin(), sites.end()};
}

double worstMarginOf(const std::vector<MarginRow>& rows)
{
    double worst = std::numeric_limits<double>::infinity();
    for (const MarginRow& row : rows)
        if (!row.limit.habit)
            worst = std::min(worst, row.normalisedMargin);
    return worst;
}

/// One change of the sheet and what to call it.
struct Lever {
    std::string what;
    BenchSheet sheet;
};

std::vector<Lever> leversOf(const BenchSheet& sheet, std::span<const Paste> otherPastes)
{
    std::vector<Lever> levers;
    if (!sheet.cooling.fan && sheet.plate.fanLossWPerK > 0) {
        Lever lever{"fan on the plate from heater-off", sheet};
        lever.sheet.cooling.fan = true;
        levers.push_back(std::move(lever));
    }
    if (!sheet.cooling.liftBelowC) {
        Lever lever{"lifting the strip off the plate right after the peak, straight up and level (its joints "
                    "are then still "
                    "liquid and must not be jerked)",
                    sheet};
        lever.sheet.cooling.liftBelowC = sheet.paste.peakC.min.value_or(sheet.paste.alloy.liquidusC + 10);
        lever.sheet.cooling.acceptsMovingMolten = true;
        levers.push_back(std::move(lever));
    }
    for (const Paste& paste : otherPastes) {
        Lever lever{"paste " + paste.name, sheet};
        lever.sheet.paste = paste;
        if (paste.id != sheet.paste.id && refusalsOf(lever.sheet).empty())
            levers.push_back(std::move(lever));
    }
    return levers;
}

} // namespace

/// Of a heat that melts nothing only the lenses in its way: no paste and no cooling helps it.
static std::vector<Suggestion> lensesInTheWay(const HeatPlan& plan)
{
    std::vector<int> off;
    for (const int site : lensesToTakeOff(plan))
        if (plan.sheet.lensStaysOn(site))
            off.push_back(site);
    if (off.empty() || !plan.refusals.empty())
        return {};
    BenchSheet sheet = plan.sheet;
    const bool release = sheet.heat == HeatKind::Release;
    for (const int site : off)
        sheet.sites[static_cast<size_t>(site - 1)].lens = release ? LensState::Release : LensState::Off;
    const bool enough = planSheet(sheet).runnable;
    return {{std::string(release ? "Release the lens in the same heat at " : "Take the lens off at ") +
             sitesInWords(off) + ": " +
             (enough ? "every limit is then kept." : "needed in any case, but not enough by itself.")}};
}

std::vector<Suggestion> whatHelps(const HeatPlan& plan, std::span<const Paste> otherPastes)
{
    if (!meltsJoints(plan.sheet.heat))
        return lensesInTheWay(plan);
    std::vector<Suggestion> suggestions;
    double base = worstMarginOf(plan.margins);
    if (plan.margins.empty() || base >= 0)
        return suggestions;
    BenchSheet sheet = plan.sheet;
    std::string given;
    if (const std::vector<int> off = lensesToTakeOff(plan); !off.empty()) {
        for (int site : off)
            sheet.sites[site - 1].lens = LensState::Off;
        base = searchShape(sheet).worstMargin;
        suggestions.push_back(
            {"Take the lens off at " + std::string(off.size() == 1 ? "site " : "sites ") + siteList(off) +
             ": " +
             (base >= 0 ? "every limit is then kept." : "needed in any case, but not enough by itself.")});
        given = "With those lenses off, ";
    }
    if (base >= 0)
        return suggestions;
    const std::vector<Lever> levers = leversOf(sheet, otherPastes);
    std::vector<std::future<Answer>> answers;
    for (const Lever& lever : levers)
        answers.push_back(std::async(std::launch::async, [&lever] { return searchShape(lever.sheet); }));
    bool anyHelps = false;
    for (size_t i = 0; i < levers.size(); ++i) {
        const Answer changed = answers[i].get();
        if (!changed.keepsLimits() && changed.worstMargin < base + 0.02)
            continue;
        anyHelps = true;
        const MarginRow& worst = changed.margins.front();
        std::string what = given + levers[i].what + ": " +
                           (changed.keepsLimits() ? "every limit is kept."
                                                  : "better, not enough: " + worst.limit.what + " " +
                                                        signedFigure(worst.margin, worst.limit) + ".");
        what[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(what[0])));
        suggestions.push_back({what});
    }
    if (!anyHelps)
        suggestions.push_back(
            {given + "neither a fan, nor lifting the strip, nor a paste on the shelf helps: it takes a "
                     "lighter or stronger plate, or better contact."});
    return suggestions;
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
    const BakeAnswer bake = planBake(sheet);
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
    return sheet.heat == HeatKind::Bake ? bakePlanOf(sheet) : planOf(sheet, searchShape(sheet));
}

} // namespace stripwright
