#pragma once

#include "bench/heater_output.h"
#include "bench/own_loop.h"
#include "bench/plate_burden.h"
#include "bench/simulated_plate.h"
#include "bench/spoilt_sensor.h"
#include "bench/thermocouple.h"

namespace stripwright {

/// What goes on inside a simulated plate, step by step: heat, sensors, watchdog, own loop, and the faults.
struct PlateWorks {
    PlateWorks(const BenchSheet& given, const SimulatedPlateOptions& wanted);

    double timeS() const { return static_cast<double>(steps) * SimulatedPlate::stepS; }
    bool has(Fault fault) const { return faults.has(fault, timeS()); }
    bool reachable() const { return !has(Fault::Silent) && !has(Fault::Reboot); }
    bool heatIsCommanded() const;
    bool comesDown() const;

    void step();
    void sample();
    bool answers(); ///< A request arrived: false if the plate does not answer it.

    template <class Value> bool write(Value& at, Value value)
    {
        if (!answers())
            return false;
        if (!has(Fault::WriteIgnored)) {
            at = value;
            noteCommand();
        }
        if (at != value)
            error = "the value read back is not the one written";
        return at == value;
    }

    SimulatedPlateOptions options;
    FaultList faults;
    BenchSheet sheet;
    PoweredPlate plant;
    PlateBurden burden;
    OwnLoop loop;
    HeaterOutput output;
    Thermocouple sensor, stripSensor;
    SpoiltSensor spoilt;
    std::vector<std::string> truthNames;
    std::vector<StationId> truthStations;        ///< As truthNames.
    std::optional<StationId> stripSensorStation; ///< None: it hangs in the air.

    long steps = 0;
    double owedS = 0;
    double lastContactS = 0, foreignDueS = 0;
    double duty = 0, setpointC = SimulatedPlate::setpointFloorC, loopDuty = 0, stripC = 0;
    double told = 0, applied = 0; ///< Duty as the plate tells it, and as the heater has it.
    double sensorC = 0, shownC = 0,
           readS = -1e9;           ///< Newest reading, the register's, and when that was taken.
    double ownRampCPerS = 0;       ///< As the register has it.
    std::optional<double> rampedC; ///< Where the own loop's set-point is on its way.
    unsigned counter = 0;
    bool tripped = false, trippedBit = false, coldSinceTrip = false, fan = false, lifted = false,
         enabled = false, rebooting = false;
    std::string error;

private:
    void noteCommand();
    void driveByLoop();
    bool powered() const { return !options.hasEnable || enabled || has(Fault::EnableWelded); }
    double heat() const;
    double supply() const;
    void watch();
    void reboot();
    void obeyForeignMaster();
};

} // namespace stripwright
