#include "bench/simulated_plate.h"

#include "bench/own_loop.h"
#include "bench/plate_burden.h"
#include "bench/spoilt_sensor.h"
#include "bench/thermocouple.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

static BenchSheet truly(BenchSheet sheet, const Plant& plant)
{
    sheet.plate = platePutRight(sheet.plate, plant);
    return sheet;
}

struct SimulatedPlate::Work {
    SimulatedPlateOptions options;
    FaultList faults;
    BenchSheet sheet;
    PoweredPlate plant;
    PlateBurden burden;
    OwnLoop loop;
    Thermocouple sensor, stripSensor;
    SpoiltSensor spoilt;
    std::vector<std::string> truthNames;
    std::vector<std::string> truthStations;
    std::string stripSensorStation; // empty: it hangs in the air

    long steps = 0;
    double owedS = 0;
    double lastContactS = 0;
    double duty = 0, setpointC = setpointFloorC, loopDuty = 0, applied = 0, sensorC = 0, stripC = 0;
    unsigned counter = 0;
    bool tripped = false, fan = false, lifted = false, enabled = false, rebooting = false;
    double foreignDueS = 0;
    std::string error;

    Work(const BenchSheet& given, const SimulatedPlateOptions& wanted)
        : options(wanted), faults(wanted.faults), sheet(truly(given, wanted)),
          plant(sheet, wanted.truth, wanted.cellMm), burden(faults, sheet.air.ambientC),
          loop(sheet.plate, wanted.ownLoopGain), sensor({.deadTimeS = sheet.plate.deadTimeS,
                                                         .offsetK = wanted.sensorOffsetK,
                                                         .noiseK = wanted.noiseK,
                                                         .stepK = wanted.readingStepK},
                                                        stepS, sheet.air.ambientC, wanted.seed),
          stripSensor({.lagS = 1}, stepS, sheet.air.ambientC, wanted.seed + 1),
          spoilt(faults, sheet.air.ambientC, wanted.seed + 2)
    {
        plant.setStripOn(!options.bare);
        const std::vector<int> targets = options.bare ? std::vector<int>{} : sheet.targets();
        if (!targets.empty())
            stripSensorStation = "dielectric_" + std::to_string(targets.front()); // the core below its pads
        if (!options.tellsTruth)
            return;
        truthNames.push_back("truth_plate_C");
        truthStations.push_back("plate");
        for (const char* kind : {"joint_", "body_"})
            for (int site : targets) {
                if (truthNames.size() == static_cast<size_t>(maxExtraChannels))
                    return;
                truthStations.push_back(kind + std::to_string(site));
                truthNames.push_back("truth_" + truthStations.back() + "_C");
            }
    }

    double timeS() const { return static_cast<double>(steps) * stepS; }

    bool has(Fault fault) const { return faults.has(fault, timeS()); }

    bool reachable() const { return !has(Fault::Silent) && !has(Fault::Reboot); }

    bool heatIsCommanded() const
    {
        return options.drive == DriveKind::Duty ? duty > 0 : setpointC > setpointFloorC;
    }

    void sample()
    {
        const double readC = sensor.sample(); // drawn always: one fault leaves the rest alike
        stripC = stripSensor.sample();
        sensorC = spoilt.shows(readC, timeS(), sampleS, options.noiseK, options.readingStepK);
        if (!has(Fault::CounterStuck))
            counter = (counter + 1) & 0xffff;
        if (options.drive == DriveKind::Setpoint) {
            const bool runs = heatIsCommanded() && powered() && !has(Fault::SensorOpen) && !tripped;
            if (!runs)
                loop.rest();
            loopDuty = runs ? loop.step(setpointC - sensorC, sampleS) : 0;
        }
    }

    bool powered() const { return !options.hasEnable || enabled || has(Fault::EnableWelded); }

    double supply() const
    {
        const double mains = faults.valueOf(Fault::Mains, timeS()).value_or(1);
        return mains * mains * (has(Fault::HalfPower) ? 0.5 : 1);
    }

    // A watchdog needs a plate that has one.
    void watch()
    {
        if (options.hasWatchdog && heatIsCommanded() &&
            timeS() - lastContactS > options.watchdogSeconds + 1e-9) {
            tripped = true;
            enabled = false;
        }
    }

    void reboot()
    {
        if (has(Fault::Reboot) && !rebooting) {
            duty = 0;
            setpointC = setpointFloorC;
            counter = 0;
            tripped = fan = enabled = false;
            plant.setFan(false);
            options.watchdogSeconds = SimulatedPlateOptions{}.watchdogSeconds;
        }
        rebooting = has(Fault::Reboot);
    }

    void obeyForeignMaster()
    {
        if (!has(Fault::ForeignMaster) || timeS() < foreignDueS)
            return;
        foreignDueS = timeS() + 1;
        lastContactS = timeS();
        if (options.drive == DriveKind::Duty)
            duty = 1;
        else
            setpointC = setpointMaxC;
    }

    double heat() const
    {
        if (!powered())
            return 0;
        if (has(Fault::RelayWelded))
            return 1;
        if (has(Fault::HeaterOpen) || tripped || !heatIsCommanded())
            return 0;
        if (has(Fault::OverTemperature))
            return 1;
        return options.drive == DriveKind::Duty ? duty : loopDuty;
    }

    void step()
    {
        reboot();
        obeyForeignMaster();
        watch();
        burden.act(plant, timeS(), stepS);
        applied = heat();
        plant.advance(stepS, applied, supply());
        ++steps;
        sensor.advance(plant.sensorC());
        stripSensor.advance(stripSensorStation.empty() ? sheet.air.ambientC
                                                       : plant.stationC(stripSensorStation));
        if (steps % std::lround(sampleS / stepS) == 0)
            sample();
    }

    // A request arrived: false if the plate does not answer it.
    bool answers()
    {
        if (!reachable()) {
            error = "no answer in time";
            return false;
        }
        lastContactS = timeS();
        error.clear();
        return true;
    }

    template <class Value> bool write(Value& at, Value value)
    {
        if (!answers())
            return false;
        if (!has(Fault::WriteIgnored)) {
            at = value;
            if (!heatIsCommanded())
                tripped = false;
        }
        if (at != value)
            error = "the value read back is not the one written";
        return at == value;
    }
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
        reading.sensorC = work_->sensorC;
    if (work_->options.drive == DriveKind::Setpoint)
        reading.setpointC = work_->setpointC;
    reading.duty = work_->options.drive == DriveKind::Duty ? work_->duty : work_->applied;
    if (work_->options.stripSensor && !work_->has(Fault::StripSensorOpen))
        reading.stripC = work_->stripC;
    if (work_->options.hasEnable)
        reading.enabled = work_->enabled;
    reading.watchdogTripped = work_->tripped;
    reading.counter = work_->counter;
    for (const std::string& station : work_->truthStations)
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

double SimulatedPlate::stationC(const std::string& station) const
{
    return work_->plant.stationC(station);
}

EnergyBalance SimulatedPlate::energy() const
{
    return work_->plant.energy();
}

} // namespace stripwright
