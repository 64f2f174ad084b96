#include "models/run_review.h"

#include "models/hand_work.h"
#include "models/wording.h"
#include "planner/heat_kinds.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"

#include <QCoreApplication>
#include <QDateTime>
#include <QLocale>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace stripwright {

namespace {

constexpr double noValue = std::numeric_limits<double>::quiet_NaN();

// "truth_joint_6_C" names joint 6.
std::optional<StationId> stationOfChannel(const std::string& channel)
{
    constexpr std::string_view prefix = "truth_", unit = "_C";
    std::string_view name = channel;
    if (!name.starts_with(prefix) || !name.ends_with(unit) || name.size() <= prefix.size() + unit.size())
        return {};
    name.remove_prefix(prefix.size());
    name.remove_suffix(unit.size());
    return StationId::named(name);
}

RunCurve withoutGaps(const RunCurve& curve)
{
    RunCurve whole{curve.station, {}, {}};
    for (size_t i = 0; i < curve.timeS.size(); ++i)
        if (std::isfinite(curve.valueC[i])) {
            whole.timeS.push_back(curve.timeS[i]);
            whole.valueC.push_back(curve.valueC[i]);
        }
    return whole;
}

} // namespace

std::vector<RunCurve> curvesOf(const std::vector<Sample>& samples)
{
    std::map<std::string, RunCurve> truths; // in the order of their names
    RunCurve plate{StationId{StationKind::Plate}, {}, {}}, estimate;
    for (size_t i = 0; i < samples.size(); ++i) {
        const Sample& sample = samples[i];
        plate.timeS.push_back(sample.timeS);
        plate.valueC.push_back(sample.sensorC.value_or(noValue));
        estimate.timeS.push_back(sample.timeS);
        estimate.valueC.push_back(sample.jointNominalC.value_or(noValue));
        for (const auto& [channel, value] : sample.extra)
            if (const auto station = stationOfChannel(channel);
                station && station->kind != StationKind::Plate) {
                RunCurve& curve = truths[station->name()];
                curve.station = station;
                curve.timeS.push_back(sample.timeS);
                curve.valueC.push_back(value);
            }
    }
    std::vector<RunCurve> curves;
    if (!samples.empty())
        curves.push_back(std::move(plate));
    for (auto& [name, curve] : truths)
        curves.push_back(std::move(curve));
    if (std::ranges::any_of(estimate.valueC, [](double value) { return std::isfinite(value); }))
        curves.push_back(std::move(estimate));
    return curves;
}

static std::map<StationId, RunCurve> judgedCurves(const BenchSheet& sheet, const std::vector<Sample>& samples)
{
    const std::vector<int> targets = sheet.targets();
    std::map<StationId, RunCurve> curves;
    for (const RunCurve& curve : curvesOf(samples)) // the estimate comes last
        if (curve.station)
            curves.emplace(*curve.station, withoutGaps(curve));
        else if (targets.size() == 1)
            curves.try_emplace(jointOf(targets.front()), withoutGaps(curve));
    std::erase_if(curves, [](const auto& named) { return named.second.timeS.empty(); });
    return curves;
}

namespace {

/// When the hands were done with each site, and where they were so for sure.
struct HandsInRun {
    HandTimes times;
    std::vector<bool> done; ///< As HandWork::sites.
};

bool needsSetDown(const Limit& limit)
{
    return aboutNewLed(limit) || limit.metric == Metric::Wetting || limit.metric == Metric::Shock ||
           limit.metric == Metric::SpentBefore;
}

/// At that time of a run solder was still heated, or not set yet.
bool heatedOrLiquidAt(double atS, Curve joint, double solidusC, const std::vector<Sample>& samples)
{
    const auto then = std::ranges::lower_bound(samples, atS, {}, &Sample::timeS);
    return then != samples.end() && (then->duty > 0 || valueAt(joint, atS) >= solidusC);
}

} // namespace

static std::optional<HandsInRun> handsIn(const BenchSheet& sheet, const HandWork& work,
                                         const std::map<StationId, RunCurve>& curves,
                                         const std::vector<Sample>& samples, const std::vector<Event>& events)
{
    std::vector<Curve> joints;
    for (const int site : work.sites) {
        const auto found = curves.find(jointOf(site));
        if (found == curves.end())
            return {};
        joints.push_back({found->second.timeS, found->second.valueC});
    }
    HandsInRun hands{handTimesOf(work, joints), {}};
    const double solidusC = meltRangeOf(sheet).solidusC;
    const auto stoppedAtS = stoppedS(events);
    for (size_t i = 0; i < work.sites.size(); ++i) {
        double& doneS = hands.times.doneS[i];
        const bool stoppedBefore = stoppedAtS && *stoppedAtS < doneS;
        hands.done.push_back(hands.times.sureFromS && !stoppedBefore &&
                             heatedOrLiquidAt(doneS, joints[i], solidusC, samples));
        const std::string card =
            (work.setsDown ? "swap-led-" : "remove-led-") + std::to_string(work.sites[i]);
        for (const Event& event : events)
            if (event.text == std::string(doneWord) + card) {
                doneS = event.timeS;
                hands.done[i] = true;
            } else if (event.text == std::string(doneLateWord) + card) {
                hands.done[i] = hands.times.sureFromS.has_value();
            }
    }
    return hands;
}

static StationId sourceOf(const Limit& limit)
{
    return aboutNewLed(limit) ? jointOf(limit.station.site) : limit.station;
}

static MeasuredBy measuredBy(const RunCurve& curve)
{
    if (!curve.station)
        return MeasuredBy::JointEstimate;
    return curve.station->kind == StationKind::Plate ? MeasuredBy::PlateSensor : MeasuredBy::Simulation;
}

MeasuredMargins measuredMargins(const BenchSheet& sheet, const std::vector<Sample>& samples,
                                const std::vector<Event>& events, bool finished,
                                const std::vector<NewLed>& planned)
{
    const auto curves = judgedCurves(sheet, samples);
    const auto work = handWorkOf(sheet);
    const auto hands = work ? handsIn(sheet, *work, curves, samples, events) : std::nullopt;
    const auto placeOf = [&](int site) -> std::optional<size_t> {
        const auto at = hands ? std::ranges::find(work->sites, site) : std::vector<int>::const_iterator();
        if (!hands || at == work->sites.end())
            return {};
        return static_cast<size_t>(at - work->sites.begin());
    };
    const auto startC = [&](int site) {
        const auto led = std::ranges::find(planned, site, &NewLed::site);
        return led == planned.end() ? sheet.air.ambientC : led->startC;
    };
    const auto siteWork = [&](size_t place) {
        return SiteWork{.sureFromS = hands->times.sureFromS,
                        .doneS = hands->times.doneS[place],
                        .lastDoneS = *std::ranges::max_element(hands->times.doneS),
                        .startC = startC(work->sites[place]),
                        .body = work->body};
    };
    MeasuredMargins measured;
    auto& rows = measured.rows;
    for (Limit limit : limitsOf(sheet)) {
        const auto found = curves.find(sourceOf(limit));
        if (!finished)
            limit.min.reset();
        if (found == curves.end() || (!limit.min && !limit.max))
            continue;
        const Curve curve{found->second.timeS, found->second.valueC};
        Judged judged{curve};
        OwnedCurve newLed;
        if (limit.needsHands() || aboutNewLed(limit)) {
            const auto place = placeOf(limit.station.site);
            if (!place || (needsSetDown(limit) && !hands->done[*place]))
                continue;
            judged.work = siteWork(*place);
            if (!finished && judged.work->doneS > curve.timeS.back())
                continue;
        }
        if (aboutNewLed(limit)) {
            newLed = newLedCurve(curve, *judged.work);
            judged.curve = newLed;
        }
        MarginRow row = marginRow(limit, std::nullopt, judged, std::nullopt);
        if (std::isfinite(row.margin) && (finished || row.nominal))
            rows.push_back(std::move(row));
    }
    sortWorstFirst(rows);
    for (const MarginRow& row : rows)
        measured.by.push_back(measuredBy(curves.at(sourceOf(row.limit))));
    return measured;
}

std::vector<MarginRow> measuredRows(const BenchSheet& sheet, const std::vector<Sample>& samples,
                                    const std::vector<Event>& events, bool finished,
                                    const std::vector<NewLed>& planned)
{
    return measuredMargins(sheet, samples, events, finished, planned).rows;
}

std::optional<EstimatedPeak> estimatedPeak(const std::vector<Sample>& samples)
{
    std::optional<EstimatedPeak> peak;
    for (const Sample& sample : samples) {
        if (!sample.jointLowC || !sample.jointNominalC || !sample.jointHighC)
            continue;
        if (!peak)
            peak = {*sample.jointLowC, *sample.jointNominalC, *sample.jointHighC};
        peak = {std::max(peak->lowC, *sample.jointLowC), std::max(peak->nominalC, *sample.jointNominalC),
                std::max(peak->highC, *sample.jointHighC)};
    }
    return peak;
}

std::vector<TimeOverLimit> timesOverLimits(const BenchSheet& sheet, const std::vector<Sample>& samples)
{
    const auto curves = judgedCurves(sheet, samples);
    std::vector<TimeOverLimit> times;
    for (const Limit& limit : limitsOf(sheet)) {
        const auto found = curves.find(limit.station);
        if (limit.metric != Metric::Peak || !limit.max || limit.station.kind == StationKind::Joint ||
            found == curves.end())
            continue;
        times.push_back({limit.what, timeAboveS({found->second.timeS, found->second.valueC}, *limit.max)});
    }
    return times;
}

std::vector<double> runTimesOf(const std::vector<double>& planTimeS, const std::vector<Sample>& samples)
{
    if (samples.empty())
        return planTimeS;
    std::vector<double> times;
    times.reserve(planTimeS.size());
    auto at = samples.begin();
    for (double planned : planTimeS) {
        while (at != samples.end() && at->profileS < planned)
            ++at;
        const Sample& near = at == samples.end() ? samples.back() : *at;
        times.push_back(near.timeS + planned - near.profileS);
    }
    for (size_t i = 1; i < times.size(); ++i)
        times[i] = std::max(times[i], times[i - 1]);
    return times;
}

bool sensorLagsBehindJoint(const std::vector<Sample>& samples)
{
    constexpr double watchedS = 5, risesCPerS = 0.1;
    if (samples.empty() || !samples.back().sensorC || !samples.back().jointNominalC)
        return false;
    const Sample& last = samples.back();
    for (auto before = samples.rbegin(); before != samples.rend(); ++before)
        if (before->sensorC && last.timeS - before->timeS >= watchedS)
            return *last.jointNominalC > *last.sensorC &&
                   *last.sensorC - *before->sensorC > risesCPerS * (last.timeS - before->timeS);
    return false;
}

QString runCurveName(const RunCurve& curve)
{
    if (!curve.station)
        return QCoreApplication::translate("run_review", "joint, est.");
    if (curve.station->kind == StationKind::Plate)
        return QCoreApplication::translate("run_review", "plate sensor");
    return QCoreApplication::translate("run_review", "%1, simulated").arg(stationText(*curve.station));
}

QString outcomeText(const RunSummary& summary)
{
    QString words = summary.outcome ? QString::fromStdString(inWords(*summary.outcome, summary.outcomeText))
                                    : QCoreApplication::translate("run_review",
                                                                  "in progress, or its controller has died");
    if (words.endsWith('.')) // it stands in a line of other things
        words.chop(1);
    return words;
}

QString titleOf(const RunSummary& summary, const std::optional<HeatPlan>& plan)
{
    const QString title = QString::fromStdString(summary.title);
    return plan && plan->ofHeats > 1 ? QCoreApplication::translate("run_review", "%1, heat %2 of %3")
                                           .arg(title)
                                           .arg(plan->heat)
                                           .arg(plan->ofHeats)
                                     : title;
}

QString startedText(const RunSummary& summary)
{
    const QDateTime started =
        QDateTime::fromString(QString::fromStdString(summary.startedUtc), Qt::ISODateWithMs);
    if (!started.isValid())
        return QString::fromStdString(summary.startedUtc);
    return QLocale().toString(started.toLocalTime(), QStringLiteral("d MMM yyyy, HH:mm"));
}

std::vector<TimedMark> marksOf(const std::vector<Event>& events)
{
    std::vector<TimedMark> marks;
    for (const Event& event : events)
        if (const auto mark = markOf(event))
            marks.push_back({event.timeS, *mark});
    return marks;
}

QString markName(const MarkedSolder& mark)
{
    return (mark.liquid ? QCoreApplication::translate("MarkName", "site %1 liquid")
                        : QCoreApplication::translate("MarkName", "site %1 not liquid yet"))
        .arg(mark.site);
}

} // namespace stripwright
