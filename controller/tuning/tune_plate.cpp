#include "tuning/tune_plate.h"

#include "loop/tuning.h"
#include "tuning/fall_watch.h"
#include "tuning/learnt_figures.h"

#include <algorithm>
#include <chrono>
#include <cmath>
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
        for (auto left = due - Clock::now(); left > Clock::duration(0); left = due - Clock::now()) {
            constexpr auto beatEvery =
                std::chrono::milliseconds(500); // a slow plate's cycle is no standstill
            std::this_thread::sleep_for(std::min<Clock::duration>(left, beatEvery));
            if (left > beatEvery)
                cycleDone();
        }
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

/// What heated the plate unasked may do so again. False: heater off was never confirmed.
static bool stayUntilItFalls(Plate& plate, const TuningJob& job, const std::string& why,
                             const std::atomic<int>& stop, const std::function<void()>& cycleDone,
                             const std::function<void(const TuningNews&)>& tell)
{
    FallWatch watch(plate, job.bounds);
    double lastC = 0;
    cycleDone();
    return runOut(watch, job, stop, cycleDone, [&](double) {
        lastC = watch.sensorC().value_or(lastC);
        tell({watch.stepInWords(), watch.timeS(), lastC, watch.duty(), false, why});
    });
}

static bool everHeated(const HeatingRecord& record)
{
    const auto above = [](double value) { return value > 0; };
    return std::any_of(record.duty.begin(), record.duty.end(), above) ||
           std::any_of(record.setpointC.begin(), record.setpointC.end(), above);
}

/// A guided heating to its end, and what was recorded in it. None: it was broken off.
template <class Heating>
static std::optional<HeatingRecord> guide(Plate& plate, Heating& heating, const TuningJob& job,
                                          TuningResult& result, const std::atomic<int>& stop,
                                          const std::function<void()>& cycleDone,
                                          const std::function<void(const TuningNews&)>& tell)
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
    if (result.heaterOff && !stop && everHeated(heating.record()))
        result.heaterOff = stayUntilItFalls(plate, job, heating.why(), stop, cycleDone, tell);
    return {};
}

/// What the plate does afterwards, with its heater off; what was learnt stays learnt however it ends, unless
/// the plate heats all the same.
static void watchCooling(Plate& plate, const TuningJob& job, const std::atomic<int>& stop,
                         TuningResult& result, const std::function<void()>& cycleDone,
                         const std::function<void()>& offForNow,
                         const std::function<void(const TuningNews&)>& tell)
{
    CoolingDown cooling(plate, job.bounds, result.fit.figures);
    cycleDone();
    result.heaterOff = runOut(cooling, job, stop, cycleDone, [&](double) {
        if (cooling.timeS() > 0) // it was read by now
            tell({cooling.stepInWords(), cooling.timeS(), cooling.sensorC(), 0, true});
    });
    if (result.heaterOff)
        offForNow();
    IdentifiedPlate& learnt = result.identified;
    result.cooling = cooling.result(job.bounds.topC, learntErrors(result.fit));
    if (result.cooling.heatsUnasked)
        result.refusals.push_back("while it cooled: " + result.cooling.brokenOff);
    learnt.fanLossWPerK = result.cooling.fanLossWPerK;
    if (learnt.fanLossWPerK)
        learnt.fanLossError = result.cooling.fanLossError;
    if (result.cooling.lossFactor)
        learnt.lossError = std::max(*learnt.lossError, std::abs(*result.cooling.lossFactor - 1));
}

TuningResult tunePlate(Plate& plate, const TuningJob& job, const std::atomic<int>& stop,
                       const std::function<void()>& cycleDone, const std::function<void()>& offForNow,
                       const std::function<void(const TuningNews&)>& tell)
{
    TuningResult result;
    std::optional<HeatingRecord> record;
    if (job.bounds.drive == DriveKind::Setpoint) {
        SetpointHeating heating(plate, job.bounds, job.powerW, job.ambientC, job.cutsWhenSilent);
        record = guide(plate, heating, job, result, stop, cycleDone, tell);
    } else {
        GuidedHeating heating(plate, job.bounds, job.powerW, job.ambientC);
        record = guide(plate, heating, job, result, stop, cycleDone, tell);
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
        if (!relay.why().empty() && result.heaterOff && !stop)
            result.heaterOff = stayUntilItFalls(plate, job, relay.why(), stop, cycleDone, tell);
        gains = result.relay->gains;
    }
    result.identified = identifiedFrom(result.fit, gains);
    if (result.refusals.empty() && result.heaterOff && !stop)
        watchCooling(plate, job, stop, result, cycleDone, offForNow, tell);
    return result;
}

} // namespace stripwright
