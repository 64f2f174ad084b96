#include "tuning/watched_heating.h"

#include <algorithm>

namespace stripwright {

static constexpr double unknownPlateRiseK = 40, overTopK = 15, setpointAboveK = 15, longestWallStepS = 1;

WatchedHeating::WatchedHeating(Plate& plate, const HeatingBounds& bounds) : plate_(plate), bounds_(bounds) {}

void WatchedHeating::arm(const PlateFigures& roughly)
{
    checks_.emplace(roughly, bounds_.topC + overTopK, bounds_.plateMaxC, plate_.highestC());
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
    if (first_)
        firstWallS_ = lastWallS_ = wallS;
    first_ = false;
    if (wallS - lastWallS_ > longestWallStepS)
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
        else if (bounds_.drive == DriveKind::Setpoint)
            stop("this plate does not say how much heat it gives, so nothing can be learnt of it; name its "
                 "output "
                 "register as \"duty\" in the plate link file");
    } else if (bounds_.drive == DriveKind::Setpoint) {
        seen.duty = lastDuty_; // a lost reading says nothing new; silence ends the heat soon enough
    }
    const double told = seen.duty.value_or(0);
    if (offReadBack_)
        seen.duty = 0; // what a plate does by itself then nobody has asked for
    seen.fullDemand = bounds_.drive == DriveKind::Duty ? duty_ >= 0.9 : duty_ > 0;
    if (!checks_ && seen.sensorC)
        checks_.emplace(PlateFigures{}, *seen.sensorC + unknownPlateRiseK, bounds_.plateMaxC,
                        plate_.highestC());
    if (checks_) {
        checks_->examine(seen);
        if (checks_->latch().tripped())
            stop(checks_->latch().firstOut().text.data());
    }
    if (std::max(seen.plantS, wallS - firstWallS_) > bounds_.longestS && duty > 0)
        stop("it took longer than " + std::to_string(static_cast<int>(bounds_.longestS)) + " s");
    if (seen.sensorC && armed_ && *seen.sensorC > bounds_.topC + overTopK)
        stop("the plate got hotter than this heating may");
    write(duty > 0 && !stopped(), duty);
    if (!seen.sensorC)
        return {};
    return Seen{seen.plantS, *seen.sensorC, bounds_.drive == DriveKind::Duty ? duty_ : told};
}

void WatchedHeating::write(bool heat, double duty)
{
    if (heat && !reading_)
        return; // as it is, until the plate answers or the link counts as lost
    duty_ = heat ? duty : 0;
    if (!heat) {
        confirmed_ = plate_.heaterOff();
    } else if (bounds_.drive == DriveKind::Duty) {
        confirmed_ = plate_.setEnable(true) && plate_.setDuty(std::clamp(duty, 0.0, 1.0));
    } else {
        confirmed_ =
            plate_.setEnable(true) &&
            plate_.setSetpointC(std::min(reading_->sensorC + setpointAboveK, bounds_.topC + setpointAboveK));
    }
    offReadBack_ = !heat && confirmed_;
}

} // namespace stripwright
