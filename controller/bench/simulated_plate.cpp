#include "bench/simulated_plate.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

namespace stripwright {

const std::vector<std::string>& faultNames()
{
    static const std::vector<std::string> names = {"sensor-open",   "sensor-stuck", "silent",
                                                   "heater-open",   "relay-welded", "over-temperature",
                                                   "write-ignored", "counter-stuck"};
    return names;
}

namespace {

// The plate's own loop: PI by the SIMC rules (Skogestad, J. Process Control 13 (2003) 291) for an integrating
// plate with the half rule on its element lag.
struct OwnLoop {
    double gainPerK, integralS, integral = 0;

    explicit OwnLoop(const PlateType& plate)
    {
        const double rateKPerS = plate.powerW / plate.heatCapacityJPerK;
        const double delayS = std::max(0.5, plate.deadTimeS + plate.sensorLagS + plate.elementLagS / 2);
        gainPerK = 1 / (rateKPerS * 2 * delayS);
        integralS = 8 * delayS;
    }

    double step(double errorK, double dtS)
    {
        const double wanted = gainPerK * errorK + integral;
        const double duty = std::clamp(wanted, 0.0, 1.0);
        if (wanted == duty || (wanted > duty) == (errorK < 0))
            integral = std::clamp(integral + gainPerK * errorK * dtS / integralS, 0.0, 1.0);
        return duty;
    }
};

// The sensor's value `delay` steps ago.
struct DeadTime {
    std::vector<double> past;
    size_t next = 0;

    DeadTime(double deadTimeS, double stepS, double startC)
        : past(static_cast<size_t>(std::lround(std::max(0.0, deadTimeS) / stepS)) + 1, startC)
    {
    }

    double pass(double valueC)
    {
        past[next] = valueC;
        next = (next + 1) % past.size();
        return past[next];
    }
};

} // namespace

struct SimulatedPlate::Work {
    SimulatedPlateOptions options;
    PoweredPlate plant;
    OwnLoop loop;
    DeadTime deadTime;
    std::mt19937 random;
    std::normal_distribution<double> noise;
    std::vector<std::string> truthNames;
    std::vector<std::string> truthStations;

    long steps = 0;
    double owedS = 0;
    double lastContactS = 0;
    double duty = 0, setpointC = setpointFloorC, loopDuty = 0, applied = 0, sensorC = 0;
    unsigned counter = 0;
    bool tripped = false, fan = false, lifted = false;
    std::string error;

    Work(const BenchSheet& sheet, const SimulatedPlateOptions& given)
        : options(given), plant(sheet, given.truth, given.cellMm), loop(sheet.plate),
          deadTime(sheet.plate.deadTimeS, stepS, sheet.air.ambientC), random(given.seed), noise(0, 1)
    {
        truthNames.push_back("truth_plate_C");
        truthStations.push_back("plate");
        for (const char* kind : {"joint_", "body_"})
            for (int site : sheet.targets()) {
                if (truthNames.size() == static_cast<size_t>(maxExtraChannels))
                    return;
                truthStations.push_back(kind + std::to_string(site));
                truthNames.push_back("truth_" + truthStations.back() + "_C");
            }
    }

    double timeS() const { return static_cast<double>(steps) * stepS; }

    bool has(Fault fault) const
    {
        return std::any_of(options.faults.begin(), options.faults.end(), [&](const TimedFault& one) {
            return one.fault == fault && timeS() >= one.fromS - 1e-9;
        });
    }

    bool heatIsCommanded() const
    {
        return options.drive == DriveKind::Duty ? duty > 0 : setpointC > setpointFloorC;
    }

    void sample(double delayedC)
    {
        const double noisyC =
            delayedC + options.noiseK * noise(random); // drawn always: one fault leaves the rest alike
        if (!has(Fault::SensorStuck))
            sensorC = std::round(noisyC * 10) / 10;
        if (!has(Fault::CounterStuck))
            counter = (counter + 1) & 0xffff;
        if (options.drive == DriveKind::Setpoint) {
            const bool runs = heatIsCommanded() && !has(Fault::SensorOpen) && !tripped;
            if (!runs)
                loop.integral = 0;
            loopDuty = runs ? loop.step(setpointC - sensorC, sampleS) : 0;
        }
    }

    double heat() const
    {
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
        if (heatIsCommanded() && timeS() - lastContactS > options.watchdogSeconds + 1e-9)
            tripped = true;
        applied = heat();
        plant.advance(stepS, applied);
        ++steps;
        const double delayedC = deadTime.pass(plant.sensorC());
        if (steps % std::lround(sampleS / stepS) == 0)
            sample(delayedC);
    }

    // A request arrived: false if the plate does not answer it.
    bool answers()
    {
        if (has(Fault::Silent)) {
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
    work_->sample(sheet.air.ambientC);
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

bool SimulatedPlate::heaterOff()
{
    return work_->options.drive == DriveKind::Duty ? setDuty(0) : setSetpointC(setpointFloorC);
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
    work_->plant.setStripOn(!work_->lifted);
    return done;
}

std::string SimulatedPlate::lastError() const
{
    return work_->error;
}

bool SimulatedPlate::setWatchdogSeconds(double seconds)
{
    if (seconds >= 0.5 && seconds <= 60)
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

bool SimulatedPlate::has(Fault fault) const
{
    return work_->has(fault);
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
    return found == names.end()
               ? std::numeric_limits<double>::quiet_NaN()
               : work_->plant.stationC(work_->truthStations[static_cast<size_t>(found - names.begin())]);
}

EnergyBalance SimulatedPlate::energy() const
{
    return work_->plant.energy();
}

} // namespace stripwright
