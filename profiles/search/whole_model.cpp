#include "search/whole_model.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <limits>

namespace stripwright {

double worstOfLimits(const std::vector<MarginRow>& rows)
{
    double worst = std::numeric_limits<double>::infinity();
    for (const MarginRow& row : rows)
        if (!row.limit.habit)
            worst = std::min(worst, row.normalisedMargin);
    return worst;
}

Predictions predictScenarios(const BenchSheet& sheet, const PlateCurve& plate, const PredictOptions& shared)
{
    const auto scenarios = scenariosOf(sheet);
    std::array<std::future<Prediction>, scenarioCount> running;
    for (size_t i = 0; i < scenarioCount; ++i)
        running[i] = std::async(std::launch::async, [&, i] {
            PredictOptions options = shared;
            options.contact = scenarios[i].contact;
            options.filmFactor = scenarios[i].filmFactor;
            options.ambientC = sheet.air.ambientC + scenarios[i].ambientRiseK;
            return predict(sheet, plate, options);
        });
    Predictions predictions;
    for (size_t i = 0; i < scenarioCount; ++i)
        predictions[i] = running[i].get();
    return predictions;
}

namespace {

// Moment from which every target joint, at every contact, is below the sheet's lifting temperature for good.
std::optional<double> liftMoment(const BenchSheet& sheet, const Predictions& predictions)
{
    if (!sheet.cooling.liftBelowC)
        return {};
    double moment = 0;
    for (const Prediction& prediction : predictions)
        for (int site : sheet.targets()) {
            const StationCurve* joint = prediction.find("joint_" + std::to_string(site));
            const auto fall = lastFallThrough({prediction.timeS, joint->valueC}, *sheet.cooling.liftBelowC);
            if (!fall)
                return {};
            moment = std::max(moment, *fall);
        }
    return moment;
}

} // namespace

Horizon horizonOf(const BenchSheet& sheet, const std::vector<Limit>& limits)
{
    double hottestC = sheet.paste.alloy.liquidusC + 25;
    for (const Limit& limit : limits)
        if (limit.metric == Metric::Peak && limit.min)
            hottestC = std::max(hottestC, *limit.min + 10);
    const double ambientC = sheet.air.ambientC, middleC = (hottestC + ambientC) / 2;
    const double rise = std::max(0.05, strongestRampCPerS(sheet.plate, {}, middleC, ambientC));
    const double soakS = sheet.paste.soakTimeS.max.value_or(60);
    const double settleS =
        coastS(sheet.plate, hottestC + 10, sheet.paste.alloy.liquidusC - 10, ambientC, sheet.cooling.fan);
    Horizon horizon;
    constexpr double longestS = 3600, otherStopsS = 60, farPartsS = 240;
    horizon.latestOffS = std::clamp((hottestC - ambientC) / rise * 1.3 + soakS + otherStopsS,
                                    horizon.latestOffS, longestS / 2);
    horizon.endS = std::clamp(horizon.latestOffS + std::max(settleS, farPartsS), horizon.endS, longestS);
    horizon.endS = 20 * std::ceil(horizon.endS / 20);
    return horizon;
}

void judge(Answer& answer, const std::vector<Limit>& limits)
{
    answer.margins.clear();
    for (const Limit& limit : limits) {
        if (limit.station == "plate") {
            answer.margins.push_back(
                marginRow(limit, {}, Curve{answer.predictions[0].timeS, answer.reference.plateC}, {}));
            continue;
        }
        auto curve = [&](size_t scenario) -> std::optional<Curve> {
            const Prediction& prediction = answer.predictions[scenario];
            return Curve{prediction.timeS, prediction.find(limit.station)->valueC};
        };
        answer.margins.push_back(marginRow(limit, curve(0), curve(nominalScenario), curve(highScenario),
                                           limit.protects ? curve(warmAirScenario) : std::optional<Curve>{}));
    }
    sortWorstFirst(answer.margins);
    answer.worstMargin = worstOfLimits(answer.margins);
}

void trimIdle(Answer& answer, bool fan)
{
    constexpr double noDuty = 0.002;
    PlateReference& reference = answer.reference;
    const auto powered = [](double duty) { return duty > noDuty; };
    const auto first = std::find_if(reference.duty.begin(), reference.duty.end(), powered);
    if (first == reference.duty.end())
        return;
    if (!fan) {
        const auto last = std::find_if(reference.duty.rbegin(), reference.duty.rend(), powered);
        reference.heaterOffS = static_cast<double>(reference.duty.rend() - last) * reference.stepS;
    }
    const auto idle = first - reference.duty.begin();
    const double idleS = static_cast<double>(idle) * reference.stepS;
    const auto cut = [&](std::vector<double>& values) {
        values.erase(values.begin(), values.begin() + idle);
    };
    cut(reference.plateC);
    cut(reference.duty);
    reference.heaterOffS -= idleS;
    for (double& bendS : reference.bendsS)
        bendS -= idleS;
    if (answer.liftAtS)
        *answer.liftAtS -= idleS;
    for (Prediction& prediction : answer.predictions) {
        cut(prediction.plateC);
        for (StationCurve& curve : prediction.stations)
            cut(curve.valueC);
        prediction.timeS.resize(prediction.timeS.size() - static_cast<size_t>(idle));
    }
}

Answer wholeModel(const BenchSheet& sheet, const std::vector<Limit>& limits, PlateReference reference)
{
    Answer answer;
    answer.reference = std::move(reference);
    const double stepS = answer.reference.stepS;
    PlateCurve plate;
    plate.plateC = answer.reference.plateC;
    for (size_t i = 0; i < plate.plateC.size(); ++i)
        plate.timeS.push_back(static_cast<double>(i) * stepS);
    PredictOptions options;
    options.stepS = options.outputStepS = stepS;
    if (sheet.cooling.fan)
        options.fanFromS = answer.reference.heaterOffS;
    answer.predictions = predictScenarios(sheet, plate, options);
    answer.liftAtS = liftMoment(sheet, answer.predictions);
    if (answer.liftAtS) {
        options.liftAtS = answer.liftAtS;
        answer.predictions = predictScenarios(sheet, plate, options);
    }
    judge(answer, limits);
    return answer;
}

} // namespace stripwright
