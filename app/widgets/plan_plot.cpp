#include "widgets/plan_plot.h"

#include "models/hand_work.h"
#include "models/wording.h"
#include "rules/joint_solder.h"
#include "widgets/look.h"

#include <QCoreApplication>

#include <algorithm>
#include <array>
#include <map>

namespace stripwright {

namespace {

// Of each kind but joints the station whose peak comes nearest its limit; all target joints.
std::vector<const PlanCurve*> shownCurves(const HeatPlan& plan)
{
    std::map<StationId, double> room;
    for (const MarginRow& row : plan.margins)
        if (row.limit.metric == Metric::Peak &&
            (row.limit.max || row.limit.station.kind == StationKind::FarFoot)) {
            const auto [place, fresh] = room.try_emplace(row.limit.station, row.normalisedMargin);
            if (!fresh)
                place->second = std::min(place->second, row.normalisedMargin);
        }
    constexpr std::array parts = {StationKind::Body, StationKind::Lens, StationKind::Glue,
                                  StationKind::FarFoot};
    std::map<StationKind, const PlanCurve*> tightest;
    std::vector<const PlanCurve*> shown;
    for (const PlanCurve& curve : plan.curves) {
        const StationKind kind = curve.station.kind;
        if (kind == StationKind::Joint) {
            shown.push_back(&curve);
            continue;
        }
        if (std::ranges::find(parts, kind) == parts.end())
            continue;
        const auto roomOf = [&](const PlanCurve* of) {
            const auto found = room.find(of->station);
            return found == room.end() ? 1e9 : found->second;
        };
        const PlanCurve*& best = tightest[kind];
        if (!best || roomOf(&curve) < roomOf(best))
            best = &curve;
    }
    for (const StationKind kind : parts)
        if (tightest.contains(kind))
            shown.push_back(tightest[kind]);
    return shown;
}

QColor colourOf(StationKind kind)
{
    switch (kind) {
    case StationKind::Joint:
        return look().joint;
    case StationKind::Body:
        return look().body;
    case StationKind::Lens:
        return look().lens;
    case StationKind::Glue:
    case StationKind::FarFoot:
        return look().glue;
    default:
        return look().ink;
    }
}

constexpr double jointWidthPx = 2.5, otherWidthPx = 1.5;

double widthOf(StationKind kind)
{
    return kind == StationKind::Joint ? jointWidthPx : otherWidthPx;
}

} // namespace

PlotCurve plotCurveOf(RunCurve run)
{
    const QString name = runCurveName(run);
    return {name,
            colourOf(run.station ? run.station->kind : StationKind::Joint),
            run.station ? widthOf(run.station->kind) : otherWidthPx,
            !run.station,
            true,
            std::move(run.timeS),
            std::move(run.valueC),
            {},
            {},
            run.station && run.station->kind == StationKind::Joint
                ? QCoreApplication::translate("plan_plot", "joints, simulated")
                : QString()};
}

bool isDrawn(const RunCurve& run, const std::vector<PlotCurve>& planned)
{
    if (!run.station || run.station->kind == StationKind::Plate || run.station->kind == StationKind::Joint)
        return true;
    const QString name = stationText(*run.station);
    return std::ranges::any_of(planned, [&](const PlotCurve& path) { return path.name == name; });
}

PlanPlot plotOf(const HeatPlan& plan)
{
    PlanPlot plot;
    plot.endS = plan.timeS.empty() ? 60 : plan.timeS.back();
    plot.curves.push_back({QCoreApplication::translate("plan_plot", "plate"),
                           look().ink,
                           1.5,
                           true,
                           true,
                           plan.timeS,
                           plan.plateC,
                           {},
                           {}});
    const auto shown = shownCurves(plan);
    for (const PlanCurve* curve : shown) {
        PlotCurve drawn{stationText(curve->station),
                        colourOf(curve->station.kind),
                        widthOf(curve->station.kind),
                        true,
                        true,
                        plan.timeS,
                        curve->nominalC,
                        {},
                        {},
                        curve->station.kind == StationKind::Joint
                            ? QCoreApplication::translate("plan_plot", "joints")
                            : QString()};
        if (curve->station.kind == StationKind::Joint) {
            drawn.lowC = curve->lowC;
            drawn.highC = curve->highC;
        }
        plot.curves.push_back(std::move(drawn));
    }
    for (const NewLed& led : plan.newLeds)
        plot.curves.push_back({QCoreApplication::translate("plan_plot", "new LED %1").arg(led.site),
                               look().body,
                               1.5,
                               true,
                               true,
                               led.timeS,
                               led.bodyC,
                               {},
                               {},
                               QCoreApplication::translate("plan_plot", "new LEDs")});
    for (const Stage& stage : plan.stages) {
        plot.stages.push_back({QString::fromStdString(stage.name), stage.startS, stage.endS});
        if (stage.name != "cool-down")
            plot.workEndS = std::max(plot.workEndS, stage.endS);
    }
    if (plot.workEndS <= 0)
        plot.workEndS = plot.endS;

    // One line for each height and kind: twelve sites with the same body limit are one line.
    std::map<std::pair<std::string, int>, QString> lines;
    for (const MarginRow& row : plan.margins) {
        const StationKind kind = row.limit.station.kind;
        const bool drawn = kind == StationKind::Plate || std::ranges::any_of(shown, [&](const PlanCurve* c) {
                               return c->station.kind == kind;
                           });
        if (row.limit.metric != Metric::Peak || !row.limit.max || row.limit.habit ||
            kind == StationKind::Joint || !drawn)
            continue;
        const std::string name(nameOf(kind));
        lines.try_emplace(
            {name, int(*row.limit.max)},
            QCoreApplication::translate("plan_plot", "%1 limit").arg(QString::fromStdString(name)));
    }
    for (const auto& [key, name] : lines)
        plot.limits.push_back({name, double(key.second), 0, 0});
    const Paste& paste = plan.sheet.paste;
    if (plan.sheet.heat == HeatKind::Release && plan.sheet.strip.glue && plan.sheet.strip.glue->letsGo)
        plot.limits.push_back({QCoreApplication::translate("plan_plot", "glue lets go"),
                               plan.sheet.strip.glue->releaseHighC, 0, 0});
    if (plan.sheet.heat == HeatKind::Swap || plan.sheet.heat == HeatKind::Remove)
        plot.limits.push_back(
            {QCoreApplication::translate("plan_plot", "old solder liquid"), oldMeltsC(plan.sheet), 0, 0});
    if (plan.sheet.heat == HeatKind::Fit && paste.countLiquidusC > 0)
        plot.limits.push_back(
            {QCoreApplication::translate("plan_plot", "liquidus"), paste.countLiquidusC, 0, 0});
    for (const Stage& stage : plan.stages) {
        if (plan.sheet.heat != HeatKind::Fit)
            break;
        if ((stage.name == "peak" || stage.name == "reflow") && paste.peakC.min && paste.peakC.max)
            plot.fields.push_back({stage.startS, stage.endS, *paste.peakC.min, *paste.peakC.max});
        if (stage.name == "soak" && paste.soakBandC.min && paste.soakBandC.max)
            plot.fields.push_back({stage.startS, stage.endS, *paste.soakBandC.min, *paste.soakBandC.max});
    }
    return plot;
}

static void endAt(double endS, PlotCurve& curve)
{
    const auto points =
        static_cast<size_t>(std::ranges::upper_bound(curve.timeS, endS) - curve.timeS.begin());
    for (std::vector<double>* values : {&curve.timeS, &curve.valueC, &curve.lowC, &curve.highC})
        values->resize(std::min(values->size(), points));
}

void layOverRun(PlanPlot& plot, const std::vector<Sample>& samples, const std::vector<Event>& events)
{
    const auto stoppedAtS = stoppedS(events);
    std::vector<Sample> followed = samples;
    if (stoppedAtS)
        std::erase_if(followed, [&](const Sample& sample) { return sample.timeS > *stoppedAtS; });
    for (PlotCurve& curve : plot.curves)
        curve.timeS = runTimesOf(curve.timeS, followed);
    for (PlotStage& stage : plot.stages) {
        const std::vector<double> times = runTimesOf({stage.startS, stage.endS}, followed);
        stage.startS = times[0];
        stage.endS = times[1];
    }
    plot.workEndS = runTimesOf({plot.workEndS}, followed)[0];
    if (!stoppedAtS)
        return;
    for (PlotCurve& curve : plot.curves)
        endAt(*stoppedAtS, curve);
    std::erase_if(plot.curves, [](const PlotCurve& curve) { return curve.timeS.empty(); });
    std::erase_if(plot.stages, [&](const PlotStage& stage) { return stage.startS > *stoppedAtS; });
    for (PlotStage& stage : plot.stages)
        stage.endS = std::min(stage.endS, *stoppedAtS);
    plot.workEndS = std::min(plot.workEndS, *stoppedAtS);
}

std::vector<PlotPoint> pointsOf(const std::vector<TimedMark>& marks)
{
    std::vector<PlotPoint> points;
    for (const auto& [timeS, mark] : marks)
        points.push_back({markName(mark), timeS, mark.afterC, mark.liquid});
    return points;
}

} // namespace stripwright
