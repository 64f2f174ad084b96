#include "bench/simulated_plate.h"

#include "bench/plate_works.h"

#include <algorithm>
#include <limits>

namespace stripwright {

struct SimulatedPlate::Work : PlateWorks {
    using PlateWorks::PlateWorks;
};

SimulatedPlate::SimulatedPlate(const BenchSheet& sheet, const SimulatedPlateOptions& options)
    : work_(std::make_unique<Work>(sheet, options))
{
    work_->sample();
}

SimulatedPlate::~SimulatedPlate() = default;

void SimulatedPlate::advance(double dtS)
{
    work_->owedS += dtS;
    while (work_->owedS >= stepS - 1e-9) {
        work_->step();
        work_->owedS -= stepS;
    }
}

double SimulatedPlate::timeS() const
{
    return work_->timeS();
}

PlateReading SimulatedPlate::shown() const
{
    PlateReading reading;
    reading.sensorFault = work_->has(Fault::SensorOpen);
    if (!reading.sensorFault)
        reading.sensorC = work_->shownC;
    if (work_->options.drive == DriveKind::Setpoint)
        reading.setpointC = work_->setpointC;
    if (work_->options.drive == DriveKind::Duty)
        reading.duty = work_->duty;
    else if (work_->options.tellsDuty)
        reading.duty = work_->told;
    if (work_->options.stripSensor && !work_->has(Fault::StripSensorOpen))
        reading.stripC = work_->stripC;
    if (work_->options.hasEnable)
        reading.enabled = work_->enabled;
    reading.watchdogTripped = work_->trippedBit;
    reading.counter = work_->counter;
    for (const StationId station : work_->truthStations)
        reading.extraC[static_cast<size_t>(reading.extraCount++)] = work_->plant.stationC(station);
    return reading;
}

std::optional<PlateReading> SimulatedPlate::read()
{
    if (!work_->answers())
        return {};
    return shown();
}

bool SimulatedPlate::setDuty(double duty)
{
    if (work_->options.drive != DriveKind::Duty) {
        work_->error = "this plate is driven by its set-point, not by duty";
        return false;
    }
    if (duty >= 0 && duty <= 1)
        return work_->write(work_->duty, duty);
    work_->write(work_->duty, 0.0);
    work_->error = "duty refused, it must be from 0 to 1; 0 written instead";
    return false;
}

bool SimulatedPlate::setSetpointC(double setpointC)
{
    if (work_->options.drive != DriveKind::Setpoint) {
        work_->error = "this plate is driven by duty, it takes no set-point";
        return false;
    }
    if (setpointC >= setpointFloorC && setpointC <= setpointMaxC)
        return work_->write(work_->setpointC, setpointC);
    work_->write(work_->setpointC, setpointFloorC);
    work_->error = "set-point refused, it must be from 0 to 400; the floor written instead";
    return false;
}

bool SimulatedPlate::hasEnable() const
{
    return work_->options.hasEnable;
}

bool SimulatedPlate::setEnable(bool on)
{
    return !work_->options.hasEnable || work_->write(work_->enabled, on);
}

bool SimulatedPlate::heaterOff()
{
    const bool off = work_->options.drive == DriveKind::Duty ? setDuty(0) : setSetpointC(setpointFloorC);
    const std::string why = work_->error;
    const bool disabled = setEnable(false);
    if (!off)
        work_->error = why;
    return off && disabled;
}

bool SimulatedPlate::setFan(bool on)
{
    const bool done = work_->write(work_->fan, on);
    work_->plant.setFan(work_->fan);
    return done;
}

bool SimulatedPlate::setStripLifted(bool lifted)
{
    const bool done = work_->write(work_->lifted, lifted);
    work_->plant.setStripOn(!work_->lifted && !work_->options.bare);
    return done;
}

std::string SimulatedPlate::lastError() const
{
    return work_->error;
}

bool SimulatedPlate::setWatchdogSeconds(double seconds)
{
    if (seconds >= watchdogMinS && seconds <= watchdogMaxS)
        return work_->write(work_->options.watchdogSeconds, seconds);
    work_->error = "watchdog time refused, it must be from 0.5 to 60 s";
    return false;
}

bool SimulatedPlate::setOwnRampCPerS(double rampCPerS)
{
    if (rampCPerS >= 0 && rampCPerS <= ownRampMaxCPerS)
        return work_->write(work_->ownRampCPerS, rampCPerS);
    work_->error = "own ramp refused, it must be from 0, off, to 100 C/s";
    return false;
}

double SimulatedPlate::ownRampCPerS() const
{
    return work_->ownRampCPerS;
}

const Plant& SimulatedPlate::plant() const
{
    return work_->options;
}

double SimulatedPlate::dutyCommand() const
{
    return work_->duty;
}

double SimulatedPlate::setpointC() const
{
    return work_->setpointC;
}

double SimulatedPlate::dutyApplied() const
{
    return work_->applied;
}

double SimulatedPlate::watchdogSeconds() const
{
    return work_->options.watchdogSeconds;
}

bool SimulatedPlate::fanOn() const
{
    return work_->fan;
}

bool SimulatedPlate::stripLifted() const
{
    return work_->lifted;
}

bool SimulatedPlate::enabled() const
{
    return work_->enabled;
}

const std::vector<TimedFault>& SimulatedPlate::faults() const
{
    return work_->faults.all();
}

void SimulatedPlate::addFault(TimedFault fault)
{
    fault.fromS += timeS();
    fault.untilS += timeS();
    work_->faults.add(fault);
}

bool SimulatedPlate::has(Fault fault) const
{
    return work_->has(fault);
}

std::optional<double> SimulatedPlate::valueOf(Fault fault) const
{
    return work_->faults.valueOf(fault, timeS());
}

bool SimulatedPlate::reachable() const
{
    return work_->reachable();
}

DriveKind SimulatedPlate::drive() const
{
    return work_->options.drive;
}

const std::vector<std::string>& SimulatedPlate::truthNames() const
{
    return work_->truthNames;
}

double SimulatedPlate::truthC(const std::string& name) const
{
    const auto& names = work_->truthNames;
    const auto found = std::find(names.begin(), names.end(), name);
    return found == names.end() ? std::numeric_limits<double>::quiet_NaN()
                                : stationC(work_->truthStations[static_cast<size_t>(found - names.begin())]);
}

double SimulatedPlate::stationC(StationId station) const
{
    return work_->plant.stationC(station);
}

EnergyBalance SimulatedPlate::energy() const
{
    return work_->plant.energy();
}

} // namespace stripwright
