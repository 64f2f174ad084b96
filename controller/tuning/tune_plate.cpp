#include "tuning/tune_plate.h"

#include "loop/tuning.h"

#include <chrono>
#include <thread>

namespace stripwright {

using Clock = std::chrono::steady_clock;
using Seconds = std::chrono::duration<double>;

static constexpr double giveUpOffS = 60, newsEveryS = 0.5;

static double wallS()
{
    return Seconds(Clock::now().time_since_epoch()).count();
}

/// One kind of heating, cycle by cycle, until it has ended. False: heater off was never confirmed.
template <class Heating>
static bool runOut(Heating& heating, const TuningJob& job, const std::atomic<int>& stop,
                   const std::function<void()>& cycleDone, const std::function<void(double)>& tell)
{
    const auto period =
        std::chrono::duration_cast<Clock::duration>(Seconds(job.bounds.periodS / job.bounds.plantSPerWallS));
    Clock::time_point due = Clock::now();
    double nextNewsS = 0;
    std::optional<double> stoppedAtS;
    while (!heating.ended()) {
        std::this_thread::sleep_until(due);
        if (stop && !stoppedAtS) {
            heating.stop("stopped by the operator");
            stoppedAtS = wallS();
        }
        if (!heating.why().empty() && !stoppedAtS)
            stoppedAtS = wallS();
        heating.cycle(wallS());
        cycleDone();
        if (wallS() >= nextNewsS) {
            tell(wallS());
            nextNewsS = wallS() + newsEveryS;
        }
        if (stoppedAtS && wallS() - *stoppedAtS > giveUpOffS)
            return false;
        due = std::max(due + period, Clock::now());
    }
    return true;
}

/// A guided heating to its end, and what was recorded in it. None: it was broken off.
template <class Heating>
static std::optional<HeatingRecord>
guide(Heating& heating, const TuningJob& job, TuningResult& result, const std::atomic<int>& stop,
      const std::function<void()>& cycleDone, const std::function<void(const TuningNews&)>& tell)
{
    const auto tellNews = [&](double) {
        const HeatingRecord& record = heating.record();
        if (!record.timeS.empty())
            tell({heating.stepInWords(), record.timeS.back(), record.sensorC.back(), heating.duty()});
    };
    result.heaterOff = runOut(heating, job, stop, cycleDone, tellNews);
    result.stopped = stop;
    if (heating.why().empty())
        return heating.record();
    result.refusals.push_back("the heating was broken off: " + heating.why());
    return {};
}

TuningResult tunePlate(Plate& plate, const TuningJob& job, const std::atomic<int>& stop,
                       const std::function<void()>& cycleDone, const std::function<void()>& offForNow,
                       const std::function<void(const TuningNews&)>& tell)
{
    TuningResult result;
    std::optional<HeatingRecord> record;
    if (job.bounds.drive == DriveKind::Setpoint) {
        SetpointHeating heating(plate, job.bounds, job.powerW, job.ambientC, job.cutsWhenSilent);
        record = guide(heating, job, result, stop, cycleDone, tell);
    } else {
        GuidedHeating heating(plate, job.bounds, job.powerW, job.ambientC);
        record = guide(heating, job, result, stop, cycleDone, tell);
    }
    if (result.heaterOff)
        offForNow();
    if (!record)
        return result;
    result.fit = fitPlate(*record, job.powerW, job.ambientC);
    result.refusals = result.fit.refusals;
    if (!result.refusals.empty() || !result.heaterOff)
        return result;

    PidGains gains = simcGains(result.fit.figures);
    if (job.relay) {
        const double aroundC = job.ambientC + (job.bounds.topC - job.ambientC) * 2 / 3;
        RelayHeating relay(plate, job.bounds, result.fit.figures, aroundC);
        const double fromS = wallS();
        cycleDone(); // watched again before the first heat
        result.heaterOff = runOut(relay, job, stop, cycleDone, [&](double nowS) {
            tell({"relay swing " + std::to_string(relay.swings() + 1),
                  (nowS - fromS) * job.bounds.plantSPerWallS, relay.sensorC(), relay.duty()});
        });
        result.stopped = stop;
        if (result.heaterOff)
            offForNow();
        result.relay = relay.result();
        result.refusals = result.relay->refusals;
        gains = result.relay->gains;
    }
    const PlateFigures& figures = result.fit.figures;
    result.identified = {.powerW = figures.powerW,
                         .heatCapacityJPerK = figures.heatCapacityJPerK,
                         .lossWPerK = figures.lossWPerK,
                         .radiatingAreaM2 = figures.radiatingAreaM2,
                         .elementLagS = figures.elementLagS,
                         .sensorLagS = figures.sensorLagS,
                         .deadTimeS = figures.deadTimeS,
                         .fitRmsK = result.fit.rmsK,
                         .dutyPerK = gains.kPerK,
                         .integralS = gains.tiS,
                         .derivativeS = gains.tdS,
                         .capacityError = result.fit.capacityError,
                         .lossError = result.fit.lossError,
                         .lagError = result.fit.lagError,
                         .ownLoop = result.fit.ownLoop};
    return result;
}

} // namespace stripwright
