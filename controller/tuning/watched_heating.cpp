#include "tuning/watched_heating.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double unknownPlateRiseK = 40, overTopK = 15, longestWallStepS = 1;
static constexpr double farBelowK = 15;   // a loop that is so far below its set-point heats
static constexpr double unsureDuty = 0.2; // of a loop and a plate of which little was seen yet

WatchedHeating::WatchedHeating(Plate& plate, const HeatingBounds& bounds) : plate_(plate), bounds_(bounds) {}

static bool hasComeToRest(const HeatingRecord& record, double timeS)
{
    constexpr double lookS = 10, movedK = 0.15;
    double sum[2] = {};
    int count[2] = {};
    for (size_t i = record.timeS.size(); i-- > 0 && record.timeS[i] > timeS - 2 * lookS;) {
        const int half = record.timeS[i] > timeS - lookS;
        sum[half] += record.sensorC[i];
        ++count[half];
    }
    return count[0] > 0 && count[1] > 0 && std::abs(sum[1] / count[1] - sum[0] / count[0]) < movedK;
}

static void forgetBefore(HeatingRecord& record, double timeS)
{
    const auto from =
        std::lower_bound(record.timeS.begin(), record.timeS.end(), timeS) - record.timeS.begin();
    for (std::vector<double>* part : {&record.timeS, &record.duty, &record.sensorC, &record.setpointC})
        if (!part->empty())
            part->erase(part->begin(), part->begin() + from);
}

bool WatchedHeating::hasRested(HeatingRecord& record, const Seen& seen, double restedS)
{
    constexpr double leastS = 10, longestS = 240, coldBelowC = 40;
    if (!(seen.sensorC < coldBelowC)) {
        stop("the plate is at " + std::to_string(std::lround(seen.sensorC)) +
             " °C; a heating that is to learn something starts below 40 °C");
        return false;
    }
    if (restedS <= leastS)
        return false;
    if (hasComeToRest(record, seen.timeS)) {
        forgetBefore(record, seen.timeS - leastS);
        return true;
    }
    if (restedS > longestS)
        stop("the plate's temperature does not come to rest without heat: is there a draught, or something "
             "hot or "
             "cold on it?");
    return false;
}

void WatchedHeating::letRise()
{
    arm({});
}

void WatchedHeating::arm(const PlateFigures& roughly, const OwnLoopModel& ownLoop,
                         const HeatingRecord& before)
{
    ownLoop_ = ownLoop;
    ownLoopAtS_ = before.timeS.back();
    arm(roughly);
    for (size_t i = 0; i < before.timeS.size(); ++i) {
        Observation seen;
        seen.plantS = seen.wallS = before.timeS[i];
        seen.sensorC = before.sensorC[i];
        seen.duty = i > 0 ? before.duty[i - 1] : 0;
        seen.dutyUnsure = before.dutyTold ? 0 : unsureDuty;
        checks_->remember(seen);
    }
}

void WatchedHeating::arm(const PlateFigures& roughly)
{
    InterlockSet armed(roughly, bounds_.topC + overTopK, bounds_.plateMaxC, plate_.highestC(),
                       plate_.readingEveryS());
    if (checks_)
        armed.takeOverWatchdog(*checks_);
    checks_ = armed;
    armed_ = true;
}

std::optional<Interlock> WatchedHeating::tripped() const
{
    return checks_ && checks_->latch().tripped() ? std::optional(checks_->latch().firstOut().interlock)
                                                 : std::nullopt;
}

void WatchedHeating::stop(const std::string& why)
{
    if (why_.empty())
        why_ = why;
}

std::optional<WatchedHeating::Seen> WatchedHeating::cycle(double wallS, double duty)
{
    return cycle(wallS, Wish{duty, 0});
}

std::optional<WatchedHeating::Seen> WatchedHeating::cycleAtC(double wallS, std::optional<double> setpointC)
{
    const bool heats = setpointC && *setpointC > bounds_.setpointFloorC;
    return cycle(wallS, heats ? Wish{1, *setpointC} : Wish{});
}

std::optional<WatchedHeating::Seen> WatchedHeating::cycle(double wallS, const Wish& wish)
{
    const double duty = watchdog_.mayHeat() ? wish.duty : 0;
    const bool byDuty = bounds_.drive == DriveKind::Duty;
    if (first_)
        firstWallS_ = lastWallS_ = wallS;
    first_ = false;
    if (wallS - lastWallS_ > std::max(longestWallStepS, 2 * bounds_.periodS / bounds_.plantSPerWallS))
        stop("a control cycle came late: the computer was busy or asleep");
    if (stopped() && !offReadBack_)
        plate_.heaterOff(); // before a reading that may not come
    lastWallS_ = wallS;

    Observation seen;
    seen.wallS = wallS;
    seen.plantS = (wallS - firstWallS_) * bounds_.plantSPerWallS;
    seen.heating = duty > 0 && !stopped();
    seen.commandConfirmed = confirmed_;
    seen.duty = duty_;
    reading_ = plate_.read();
    if (reading_) {
        seen.answered = true;
        seen.sensorFault = reading_->sensorFault;
        seen.watchdogTripped = reading_->watchdogTripped;
        seen.foreignWrite = reading_->foreignWrite;
        seen.counter = reading_->counter;
        if (!reading_->sensorFault)
            seen.sensorC = reading_->sensorC;
        if (reading_->duty)
            seen.duty = lastDuty_ = reading_->duty;
        else if (!byDuty)
            seen.duty.reset();
    } else if (!byDuty) {
        seen.duty = lastDuty_; // a lost reading says nothing new; silence ends the heat soon enough
    }
    const std::optional<double> told = seen.duty;
    if (ownLoop_ && !seen.sensorC && !told) { // a lost reading changes nothing in what it gives
        seen.duty = ownLoopDuty_;
        seen.dutyUnsure = unsureDuty;
    } else if (ownLoop_ && !told) {
        seen.duty = ownLoopDuty_ =
            setpointC_ > bounds_.setpointFloorC
                ? ownLoop_->advance(setpointC_, *seen.sensorC, seen.plantS - ownLoopAtS_)
                : (ownLoop_->rest(*seen.sensorC), 0.0);
        seen.dutyUnsure = unsureDuty;
        ownLoopAtS_ = seen.plantS;
    }
    if (offReadBack_)
        seen.duty = 0; // what a plate does by itself then nobody has asked for
    seen.fullDemand = byDuty      ? duty_ >= 0.9
                      : seen.duty ? *seen.duty >= 0.9
                                  : seen.sensorC && setpointC_ > *seen.sensorC + farBelowK;
    if (!checks_ && seen.sensorC)
        checks_.emplace(PlateFigures{}, *seen.sensorC + unknownPlateRiseK, bounds_.plateMaxC,
                        plate_.highestC(), plate_.readingEveryS());
    if (checks_) {
        checks_->examine(seen);
        if (checks_->latch().tripped())
            stop(checks_->latch().firstOut().text.data());
    }
    if (reading_ && offSeen_)
        watchdog_.look(plate_, *reading_, wallS);
    if (watchdog_.refusal())
        stop(watchdog_.refusal());
    if (std::max(seen.plantS, wallS - firstWallS_) > bounds_.longestS && duty > 0)
        stop("it took longer than " + std::to_string(static_cast<int>(bounds_.longestS)) + " s");
    if (seen.sensorC && armed_ && *seen.sensorC > bounds_.topC + overTopK)
        stop("the plate got hotter than this heating may");
    write(duty > 0 && !stopped(), wish);
    if (!seen.sensorC)
        return {};
    return Seen{seen.plantS, *seen.sensorC, byDuty ? std::optional(duty_) : told, setpointC_};
}

void WatchedHeating::write(bool heat, const Wish& wish)
{
    if (heat && !reading_)
        return; // as it is, until the plate answers or the link counts as lost
    duty_ = heat ? wish.duty : 0;
    setpointC_ = heat ? wish.setpointC : bounds_.setpointFloorC;
    if (!heat)
        confirmed_ = plate_.heaterOff();
    else if (bounds_.drive == DriveKind::Duty)
        confirmed_ = plate_.setEnable(true) && plate_.setDuty(std::clamp(duty_, 0.0, 1.0));
    else
        confirmed_ = plate_.setEnable(true) && plate_.setSetpointC(setpointC_);
    offReadBack_ = !heat && confirmed_;
    offSeen_ = offSeen_ || offReadBack_;
}

} // namespace stripwright
