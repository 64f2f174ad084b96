#pragma once

#include "link/plate_link.h"
#include "thermal/powered_plate.h"

#include <memory>

namespace stripwright {

/// What can go wrong with the simulated plate. By name in `faultNames()`.
enum class Fault {
    SensorOpen,  ///< Reading is the "no sensor" value, status bit set; the plate's own loop cuts its heat.
    SensorStuck, ///< Reading stands still, counter and heater go on.
    Silent,      ///< No request is answered; the plate's own watchdog runs out.
    HeaterOpen,  ///< No heat whatever is commanded.
    RelayWelded, ///< Full heat whatever is commanded, watchdog included: only a cut-out in the supply ends
                 ///< it.
    OverTemperature, ///< Full heat for any command above zero; zero and the watchdog still cut it.
    WriteIgnored,    ///< Writes are acknowledged and change nothing.
    CounterStuck,    ///< Update counter stands still.
};

/// Names as `--fault` takes them, in the order of Fault: "sensor-open", ...
const std::vector<std::string>& faultNames();

struct TimedFault {
    Fault fault;
    double fromS = 0; ///< Plant seconds since the plate was switched on; it stays.
};

struct SimulatedPlateOptions {
    /// How this plate differs from the planner's model, unless told otherwise.
    TruthFactors truth{.contact = 0.85, .losses = 1.10, .power = 0.95};
    DriveKind drive = DriveKind::Duty;
    std::vector<TimedFault> faults;
    double noiseK = 0.05; ///< Standard deviation of the reading before its 0.1 K steps.
    unsigned seed = 1;
    double watchdogSeconds = 3; ///< Plant time; may be written over the link.
    double cellMm = 2.0;
};

/// A heated plate with a strip on it, in plant time that the caller advances: physics, sensor with dead time,
/// noise and 0.1 K steps, communication watchdog, and in set-point mode a PI loop of its own.
///
/// The sensor is sampled every 0.1 s of plant time; the counter (16 bit, wraps) counts the samples. The
/// watchdog runs while heat is commanded: without an answered read or write for watchdogSeconds it cuts the
/// heater, and the cut stays until duty 0, or the set-point floor, is written. Truth channels, in order:
/// truth_plate_C, truth_joint_N_C of every target site, then truth_body_N_C of every target site, as many as
/// maxExtraChannels allows.
class SimulatedPlate final : public Plate {
public:
    explicit SimulatedPlate(const BenchSheet& sheet, const SimulatedPlateOptions& options = {});
    ~SimulatedPlate() override;

    void advance(
        double dtS); ///< dtS >= 0; physics runs in steps of 0.05 s, a remainder is kept for the next call.
    double timeS() const; ///< Plant time since switched on, a multiple of the step.

    std::optional<PlateReading> read() override;
    bool setDuty(double duty) override;           ///< Outside 0 to 1 or NaN: sets 0 and returns false.
    bool setSetpointC(double setpointC) override; ///< Outside 0 to 400: sets the floor and returns false.
    bool heaterOff() override;
    bool setFan(bool on) override;
    bool setStripLifted(bool lifted) override;
    std::string lastError() const override;

    bool setWatchdogSeconds(double seconds); ///< 0.5 to 60, otherwise refused: there is no "off".

    // What stands in the registers; reading it here does not feed the watchdog.
    PlateReading shown() const;
    double dutyCommand() const;
    double setpointC() const;   ///< Set-point mode; the floor is 0.
    double dutyApplied() const; ///< At the heater, after watchdog and faults.
    double watchdogSeconds() const;
    bool fanOn() const;
    bool stripLifted() const;
    bool has(Fault fault) const; ///< Now.
    DriveKind drive() const;

    const std::vector<std::string>& truthNames() const;
    double truthC(const std::string& name) const; ///< NaN if there is none of that name.
    EnergyBalance energy() const;

    static constexpr double stepS = 0.05, sampleS = 0.1;
    static constexpr double setpointFloorC = 0, setpointMaxC = 400;

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
