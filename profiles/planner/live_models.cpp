#include "planner/live_models.h"

#include "planner/heat_kinds.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

std::span<const double> firstOf(const std::vector<double>& values, size_t count)
{
    return std::span(values).first(std::min(count, values.size()));
}

/// Samples to fit on: a lifted strip no longer follows the plate, under a fan it follows it otherwise, and a
/// bake's cooling is sampled coarsely.
size_t samplesToFit(const HeatPlan& plan)
{
    double untilS = plan.timeS.back() + 1;
    if (plan.liftAtS)
        untilS = *plan.liftAtS;
    if (plan.sheet.heat == HeatKind::Bake || plan.sheet.cooling.fan)
        untilS = std::min(untilS, plan.heaterOffS);
    return static_cast<size_t>(std::lower_bound(plan.timeS.begin(), plan.timeS.end(), untilS) -
                               plan.timeS.begin());
}

/// The target joints over the plan's plate as the sheet states it but for contact, which is what a run finds
/// out about; predicted coarsely.
void addJointModels(HeatPlan& plan, size_t samples)
{
    constexpr double stepS = 4, longestS = 3600;
    PlateCurve plate;
    for (size_t i = 0; i < samples && plan.timeS[i] <= longestS; ++i)
        if (plate.timeS.empty() || plan.timeS[i] - plate.timeS.back() >= stepS) {
            plate.timeS.push_back(plan.timeS[i]);
            plate.plateC.push_back(plan.plateC[i]);
        }
    for (const int site : plan.sheet.targets())
        plan.joints.push_back({.site = site, .poor = PlateResponse()});
    constexpr double asThePlate = 1;
    const auto fitAt = [&](ContactLevel contact, double factor, auto fitOf) {
        PredictOptions options;
        options.contact = contact;
        options.contactFactor = factor;
        options.stepS = options.outputStepS = stepS;
        if (plan.sheet.cooling.fan)
            options.fanFromS = plan.heaterOffS;
        const Prediction prediction = predict(plan.sheet, plate, options);
        const ResponseFit fit(prediction.timeS, prediction.plateC, plan.sheet.air.ambientC);
        for (JointModel& joint : plan.joints)
            fitOf(joint) = fit.fit(prediction.find(jointOf(joint.site))->valueC, asThePlate);
    };
    fitAt(ContactLevel::Low, poorShareOfLow, [](JointModel& joint) -> PlateResponse& { return *joint.poor; });
    fitAt(ContactLevel::Low, 1, [](JointModel& joint) -> PlateResponse& { return joint.low; });
    fitAt(ContactLevel::Nominal, 1, [](JointModel& joint) -> PlateResponse& { return joint.nominal; });
    fitAt(ContactLevel::High, 1, [](JointModel& joint) -> PlateResponse& { return joint.high; });
}

/// Whether the guard of the joints looks after the row's station already; a new LED is no hotter than its
/// joint.
bool isTargetJoint(const BenchSheet& sheet, StationId station)
{
    return station.kind == StationKind::Joint && sheet.isTarget(station.site);
}

std::vector<const MarginRow*> rowsToWatch(const HeatPlan& plan)
{
    constexpr double farK = 40;
    std::vector<const MarginRow*> rows;
    for (const MarginRow& row : plan.margins) {
        const Limit& limit = row.limit;
        // A part whose cap is habit is watched where the plan keeps it; elsewhere the heat would end at once.
        const bool holds = !limit.habit || (limit.protects && row.margin >= 0);
        const bool watched = limit.metric == Metric::Peak && limit.max && holds && row.high &&
                             *row.high >= *limit.max - farK && !aboutNewLed(limit) &&
                             !isTargetJoint(plan.sheet, limit.station);
        if (watched)
            rows.push_back(&row);
    }
    std::stable_sort(rows.begin(), rows.end(), [](const MarginRow* a, const MarginRow* b) {
        return a->limit.habit != b->limit.habit ? b->limit.habit : a->margin < b->margin;
    });
    return rows;
}

/// Of the times that a part may be hot the shortest, whether the plan comes near it or not.
void addNearTime(PartModel& part, const std::vector<Limit>& limits)
{
    for (const Limit& limit : limits)
        if (limit.station == part.station && limit.metric == Metric::TimeAbove && limit.max &&
            limit.protects && !limit.habit && *limit.max < part.nearMostS.value_or(INFINITY)) {
            part.nearC = limit.levelC;
            part.nearMostS = limit.max;
        }
}

} // namespace

void addLiveModels(HeatPlan& plan, const PredictedHeat& answer)
{
    const std::vector<Limit> limits = limitsOf(plan.sheet);
    const size_t samples = samplesToFit(plan);
    std::vector<ResponseFit> fits;
    for (const Prediction& prediction : answer.predictions)
        fits.emplace_back(firstOf(plan.timeS, samples), firstOf(prediction.plateC, samples),
                          plan.sheet.air.ambientC);
    auto fitted = [&](StationId station, size_t scenario) {
        return fits[scenario].fit(firstOf(answer.predictions[scenario].find(station)->valueC, samples));
    };
    addJointModels(plan, samples);
    for (const MarginRow* row : rowsToWatch(plan)) {
        const StationId station = row->limit.station;
        const bool known = std::any_of(plan.parts.begin(), plan.parts.end(),
                                       [&](const PartModel& part) { return part.station == station; });
        if (known || station.kind == StationKind::Plate || plan.parts.size() == partModelsMost)
            continue;
        PartModel part{.station = station, .maxC = *row->limit.max};
        part.low = fitted(station, coldest);
        part.nominal = fitted(station, asStated);
        part.high = fitted(station, hottestFor(answer, station));
        addNearTime(part, limits);
        plan.parts.push_back(std::move(part));
    }
}

} // namespace stripwright
