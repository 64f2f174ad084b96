#include "search/whole_model.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <limits>
#include <tuple>

namespace stripwright {

double worstOfLimits(const std::vector<MarginRow>& rows)
{
    double worst = std::numeric_limits<double>::infinity();
    for (const MarginRow& row : rows)
        if (!row.limit.habit)
            worst = std::min(worst, row.normalisedMargin);
    return worst;
}

size_t hottestFor(const PredictedHeat& answer, StationId station)
{
    const auto peakC = [&](size_t scenario) {
        const std::vector<double>& valueC = answer.predictions[scenario].find(station)->valueC;
        return *std::max_element(valueC.begin(), valueC.end());
    };
    const size_t last = answer.predictions.size() - 1;
    return peakC(last) > peakC(hottestJoints) ? last : hottestJoints;
}

bool Worth::operator<(const Worth& better) const
{
    return std::tuple(done, -lensesLost, worst) < std::tuple(better.done, -better.lensesLost, better.worst);
}

Worth worthOf(const PredictedHeat& answer)
{
    const std::vector<int> lost = lostLenses(answer.margins);
    Worth worth{.done = true,
                .lensesLost = static_cast<int>(lost.size()),
                .worst = std::numeric_limits<double>::infinity()};
    for (const MarginRow& row : answer.margins)
        if (!row.limit.habit && std::find(lost.begin(), lost.end(), lensSiteOf(row.limit)) == lost.end())
            worth.worst = std::min(worth.worst, row.normalisedMargin);
    worth.done = worth.worst >= 0;
    return worth;
}

Predictions predictScenarios(const BenchSheet& sheet, const PlateCurve& plate, double heaterOffS,
                             const PredictOptions& shared)
{
    const std::vector<Scenario> scenarios = scenariosOf(sheet);
    std::vector<std::future<Prediction>> running;
    for (const Scenario& scenario : scenarios)
        running.push_back(std::async(std::launch::async, [&] {
            return predict(sheet, plateIn(scenario, plate, heaterOffS), optionsIn(scenario, sheet, shared));
        }));
    Predictions predictions;
    for (auto& one : running)
        predictions.push_back(one.get());
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
            const StationCurve* joint = prediction.find(jointOf(site));
            const auto fall = lastFallThrough({prediction.timeS, joint->valueC}, *sheet.cooling.liftBelowC);
            if (!fall)
                return {};
            moment = std::max(moment, *fall);
        }
    return moment;
}

} // namespace

Horizon horizonOf(const HeatTask& task)
{
    const BenchSheet& sheet = task.sheet;
    const double turnC = task.aim.turnC > 0 ? task.aim.turnC : sheet.paste.alloy.liquidusC;
    double hottestC = turnC + 25;
    for (const Limit& limit : task.limits)
        if (limit.metric == Metric::Peak && limit.min)
            hottestC = std::max(hottestC, *limit.min + 10);
    const double ambientC = sheet.air.ambientC, middleC = (hottestC + ambientC) / 2;
    const double rise = std::max(0.05, strongestRampCPerS(sheet.plate, {}, middleC, ambientC));
    const double climbS =
        sheet.plate.ownLoop
            ? std::max((hottestC - ambientC) / rise, shortestClimbS(sheet.plate, hottestC, ambientC))
            : (hottestC - ambientC) / rise;
    const double stopsS = task.aim.longestSoakS + (task.hands ? task.hands->needS() : 0);
    const double settleS = coastS(sheet.plate, hottestC + 10, turnC - 10, ambientC, sheet.cooling.fan) /
                           (1 - sheet.plate.lossRangeShare);
    Horizon horizon;
    constexpr double longestS = 3600, otherStopsS = 60, farPartsS = 240;
    horizon.latestOffS = std::clamp(climbS * 1.3 + stopsS + otherStopsS,
                                    horizon.latestOffS, longestS / 2);
    horizon.endS = std::clamp(horizon.latestOffS + std::max(settleS, farPartsS), horizon.endS, longestS);
    horizon.endS = 20 * std::ceil(horizon.endS / 20);
    return horizon;
}

std::optional<SiteWork> siteWorkOf(const PredictedHeat& answer, const HeatTask& task, int site,
                                   size_t scenario)
{
    if (!task.hands || !answer.hands)
        return {};
    const std::vector<int>& sites = task.hands->sites;
    const auto found = std::find(sites.begin(), sites.end(), site);
    if (found == sites.end())
        return {};
    SiteWork work{.sureFromS = answer.hands->sureFromS,
                  .doneS = answer.hands->doneS[static_cast<size_t>(found - sites.begin())],
                  .lastDoneS = answer.hands->doneS.back(),
                  .startC = task.sheet.air.ambientC + scenariosOf(task.sheet)[scenario].ambientRiseK,
                  .body = task.hands->body};
    const Prediction& prediction = answer.predictions[scenario];
    if (const StationCurve* spare = prediction.find(StationId{StationKind::Spare, site}))
        work.startC = valueAt({prediction.timeS, spare->valueC}, work.doneS);
    return work;
}

static bool isSpare(const Limit& limit)
{
    return limit.station.kind == StationKind::Spare;
}

static OwnedCurve untilSetDown(Curve strip, const PredictedHeat& answer, const HeatTask& task, int site)
{
    OwnedCurve until{{strip.timeS.begin(), strip.timeS.end()}, {strip.valueC.begin(), strip.valueC.end()}};
    if (const auto work = siteWorkOf(answer, task, site, asStated)) {
        const auto end = std::upper_bound(until.timeS.begin() + 1, until.timeS.end(), work->doneS);
        until.valueC.resize(static_cast<size_t>(end - until.timeS.begin()));
        until.timeS.resize(until.valueC.size());
    }
    return until;
}

void judge(PredictedHeat& answer, const HeatTask& task)
{
    answer.margins.clear();
    answer.hands.reset();
    const auto curveOf = [&](StationId station, size_t scenario) {
        const Prediction& prediction = answer.predictions[scenario];
        return Curve{prediction.timeS, prediction.find(station)->valueC};
    };
    if (task.hands) {
        std::vector<Curve> joints;
        for (const int site : task.hands->sites)
            joints.push_back(curveOf(jointOf(site), coldest));
        answer.hands = handTimesOf(*task.hands, joints);
    }
    for (const Limit& limit : task.limits) {
        if (limit.station.kind == StationKind::Plate) {
            answer.margins.push_back(
                marginRow(limit, {}, Judged{{answer.predictions[0].timeS, answer.reference.plateC}}, {}));
            continue;
        }
        const int site = limit.station.site;
        std::vector<OwnedCurve> own(answer.predictions.size());
        const auto judged = [&](size_t scenario) -> std::optional<Judged> {
            if (isSpare(limit)) {
                own[scenario] = untilSetDown(curveOf(limit.station, scenario), answer, task, site);
                return Judged{own[scenario]};
            }
            if (!aboutNewLed(limit))
                return Judged{curveOf(limit.station, scenario),
                              limit.needsHands() ? siteWorkOf(answer, task, site, scenario) : std::nullopt};
            const auto work = siteWorkOf(answer, task, site, scenario);
            if (!work)
                return {};
            own[scenario] = newLedCurve(curveOf(jointOf(site), scenario), *work);
            return Judged{own[scenario]};
        };
        MarginRow row = marginRow(limit, judged(coldest), judged(asStated), judged(hottestJoints));
        if (const size_t other = hottestParts(task.sheet);
            other != hottestJoints && (limit.protects || isSpare(limit))) {
            MarginRow there = marginRow(limit, judged(coldest), judged(asStated), judged(other));
            if (there.margin < row.margin || !row.high || (there.high && *there.high > *row.high))
                row = std::move(there);
        }
        if (std::isfinite(row.margin))
            answer.margins.push_back(std::move(row));
    }
    sortWorstFirst(answer.margins);
    answer.worstMargin = worstOfLimits(answer.margins);
}

PredictedHeat wholeModel(const HeatTask& task, PlateReference reference)
{
    const BenchSheet& sheet = task.sheet;
    PredictedHeat answer;
    answer.reference = std::move(reference);
    const double stepS = answer.reference.stepS;
    PlateCurve plate;
    plate.plateC = answer.reference.plateC;
    for (size_t i = 0; i < plate.plateC.size(); ++i)
        plate.timeS.push_back(static_cast<double>(i) * stepS);
    PredictOptions options;
    options.stepS = options.outputStepS = stepS;
    options.spares = task.spares;
    if (sheet.cooling.fan)
        options.fanFromS = answer.reference.heaterOffS;
    answer.predictions = predictScenarios(sheet, plate, answer.reference.heaterOffS, options);
    answer.liftAtS = liftMoment(sheet, answer.predictions);
    if (answer.liftAtS) {
        options.liftAtS = answer.liftAtS;
        answer.predictions = predictScenarios(sheet, plate, answer.reference.heaterOffS, options);
    }
    judge(answer, task);
    return answer;
}

} // namespace stripwright
