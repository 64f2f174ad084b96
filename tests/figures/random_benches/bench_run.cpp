#include "bench_run.h"

#include "set_down_plate.h"

#include "loop/follower.h"
#include "loop/pid.h"
#include "loop/tuning.h"
#include "planner/heat_kinds.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>

namespace stripwright::figures {

namespace {

constexpr double stepS = 0.2;

/// The hands at one site.
struct Touch {
    int site = 0;
    double liftS = 0, doneS = 0;
    bool lifted = false, done = false;
    double atLiftC = NAN;                     ///< The joint then.
    std::vector<double> timeS, underC, bodyC; ///< From set-down on.
};

std::vector<Touch> touchesOf(const HeatPlan& plan, const DrawnHands& hands)
{
    const auto work = handWorkOf(plan.sheet);
    std::vector<Touch> touches;
    if (!work || !plan.hands)
        return touches;
    constexpr double liftAfterShare = 0.3; // of a site's time; the rest is flux and setting down
    double freeS = plan.hands->doneS.front() - work->eachS - work->firstS + hands.firstS;
    for (size_t i = 0; i < work->sites.size(); ++i) {
        const double fromS = std::max(freeS, plan.hands->doneS[i] - work->eachS);
        freeS = fromS + hands.eachS[i];
        touches.push_back(
            {.site = work->sites[i], .liftS = fromS + liftAfterShare * hands.eachS[i], .doneS = freeS});
    }
    return touches;
}

class Run {
public:
    Run(const HeatPlan& plan, const BenchSheet& truth, const DrawnHands& hands)
        : plan_(plan), truth_(truth),
          plate_(truth, truth.way == SwapWay::WarmedLed ? sparesOf(plan.sheet) : std::vector<SpareLed>()),
          touches_(touchesOf(plan, hands))
    {
        for (const Limit& limit : limitsOf(plan.sheet))
            if (!limit.habit)
                limits_.push_back(limit);
    }

    BenchRun run()
    {
        const PlateFigures figures = figuresOf(plan_.sheet.plate, plan_.sheet.air.ambientC);
        const PidGains gains = simcGains(figures);
        Follower follower(plan_, figures);
        Pid pid(gains, stepS);
        std::deque<double> delayed(static_cast<size_t>(std::lround(figures.deadTimeS / stepS)) + 1,
                                   plate_.sensorC());
        constexpr double farPartsS = 300; // a lens beside the plate peaks that much later
        const double endS = std::max(plan_.timeS.back(), plan_.heaterOffS + farPartsS);
        for (double timeS = stepS; timeS < endS; timeS += stepS) {
            double duty = 0;
            if (timeS < plan_.heaterOffS) {
                follower.advance(stepS, 1);
                const double feedForward =
                    follower.feedForward() + gains.kPerK * gains.tdS * follower.expectedSlopeCPerS();
                duty = pid.step(follower.expectedC(), delayed.front(), feedForward, stepS);
            } else {
                plate_.setFan(plan_.sheet.cooling.fan);
                plate_.setStripOn(!(plan_.liftAtS && timeS >= *plan_.liftAtS));
            }
            plate_.advance(stepS, duty);
            delayed.push_back(plate_.sensorC());
            delayed.pop_front();
            touch(timeS);
            record(timeS);
        }
        return verdict();
    }

private:
    void touch(double timeS)
    {
        for (Touch& one : touches_) {
            if (!one.lifted && timeS >= one.liftS) {
                one.lifted = true;
                one.atLiftC = plate_.stationC(jointOf(one.site));
            }
            if (!one.done && timeS >= one.doneS) {
                one.done = true;
                const double spareC = plate_.spareC(one.site);
                if (truth_.heat == HeatKind::Swap)
                    plate_.setDown(one.site, std::isnan(spareC) ? truth_.air.ambientC : spareC);
            }
        }
    }

    void record(double timeS)
    {
        timeS_.push_back(timeS);
        for (const Limit& limit : limits_)
            if (!aboutNewLed(limit))
                if (auto& curve = curves_[limit.station]; curve.size() < timeS_.size())
                    curve.push_back(limit.station.kind == StationKind::Plate
                                        ? plate_.plateC()
                                        : plate_.stationC(limit.station));
        for (Touch& one : touches_)
            if (one.done) {
                one.timeS.push_back(timeS);
                one.underC.push_back(plate_.underLedC(one.site));
                one.bodyC.push_back(plate_.stationC({StationKind::Body, one.site}));
            }
    }

    const Touch* touchAt(int site) const
    {
        for (const Touch& one : touches_)
            if (one.site == site)
                return &one;
        return nullptr;
    }

    /// Margin as it really was.
    double marginIn(const Limit& limit) const
    {
        const Touch* touch = touchAt(limit.station.site);
        if (limit.metric == Metric::LiquidForHands)
            return touch && touch->lifted ? touch->atLiftC - limit.levelC : NAN;
        if (limit.metric == Metric::Wetting)
            return touch ? wettedS(*touch, limit.levelC) - limit.min.value_or(0) : NAN;
        if (limit.needsHands())
            return INFINITY; // flux and the step at set-down are trade habit
        if (!aboutNewLed(limit))
            return marginRow(limit, {}, Judged{{timeS_, curves_.at(limit.station)}}, {}).margin;
        return touch && !touch->timeS.empty()
                   ? marginRow(limit, {}, Judged{{touch->timeS, touch->bodyC}}, {}).margin
                   : NAN;
    }

    static double wettedS(const Touch& touch, double meltsC)
    {
        const Curve under{touch.timeS, touch.underC};
        if (touch.timeS.empty() || peakOf(under)->valueC < meltsC)
            return 0;
        const double fromS = touch.underC.front() >= meltsC
                                 ? touch.timeS.front()
                                 : firstRiseThrough(under, meltsC).value_or(touch.timeS.back());
        return lastFallThrough(under, meltsC).value_or(touch.timeS.back()) - fromS;
    }

    BenchRun verdict() const
    {
        BenchRun run;
        for (const Limit& limit : limits_) {
            const double margin = marginIn(limit);
            if (margin >= 0)
                continue;
            const bool joint = limit.station.kind == StationKind::Joint;
            (lensSiteOf(limit) > 0 ? run.lenses
             : joint               ? run.joints
                                   : run.bodies)
                .push_back({limit.id, -margin});
        }
        return run;
    }

    const HeatPlan& plan_;
    const BenchSheet& truth_;
    SetDownPlate plate_;
    std::vector<Touch> touches_;
    std::vector<Limit> limits_;
    std::vector<double> timeS_;
    std::map<StationId, std::vector<double>> curves_;
};

} // namespace

BenchRun runBench(const HeatPlan& plan, const BenchSheet& truth, const DrawnHands& hands)
{
    return Run(plan, truth, hands).run();
}

} // namespace stripwright::figures
