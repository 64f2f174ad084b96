#pragma once

#include "bench/faults.h"
#include "bench/plant.h"
#include "link/plate_link.h"

#include <memory>

namespace stripwright {

struct SimulatedPlateOptions : Plant {
    DriveKind drive = DriveKind::Duty;
    std::vector<TimedFault> faults;
    unsigned seed = 1;
    double watchdogSeconds = 3; ///< Plant time; may be written over the link.
    bool hasWatchdog = true;    ///< Else heat that nobody ends goes on for ever.
    double cellMm = 2.0;
    bool bare = false;      ///< Nothing lies on the plate, whatever the sheet says.
    bool hasEnable = false; ///< An output that lets the heater have power; off when the plate is switched on.
    bool stripSensor = false; ///< A thermocouple on the core under the first target's pads.
    bool tellsDuty = true;    ///< In set-point mode, what the heater gets.
    bool tellsTruth = true;   ///< Channels that no real plate has.
};

/// A heated plate with a strip on it, in plant time that the caller advances: physics, sensor with dead time,
/// noise and steps, communication watchdog, and in set-point mode a PI loop of its own.
///
/// The sensor is sampled every 0.1 s of plant time; its register is refreshed, and the counter (16 bit,
/// wraps) goes on, with each sample or as the plant says. A relay that must stay on for its least time ends
/// late on duty 0 too; watchdog and enable output cut its supply at once. The watchdog runs while heat is
/// commanded: without an answered read or write for watchdogSeconds it cuts the heater and drops the enable
/// output, and the cut stays until duty 0, or the set-point floor, is written. Truth channels, in order:
/// truth_plate_C, truth_joint_N_C of every target site, then truth_body_N_C of every target site, as many as
/// maxExtraChannels allows; of a bare plate the first alone. The strip's thermocouple has a lag of 1 s, 0.05
/// K of noise and 0.1 K steps; on a bare plate it hangs in the air.
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
    bool hasEnable() const override;
    bool setEnable(bool on) override;
    bool heaterOff() override;
    bool setFan(bool on) override;
    bool setStripLifted(bool lifted) override;
    std::string lastError() const override;
    double readingEveryS() const override { return plant().readingEveryS; }

    bool setWatchdogSeconds(double seconds); ///< 0.5 to 60, otherwise refused: there is no "off".
    bool setOwnRampCPerS(double rampCPerS);  ///< 0 to 100; 0: off. A restart brings the plant's back.

    // What stands in the registers; reading it here does not feed the watchdog.
    PlateReading shown() const;
    double dutyCommand() const;
    double setpointC() const;   ///< Set-point mode; the floor is 0.
    double dutyApplied() const; ///< At the heater, after watchdog and faults.
    double watchdogSeconds() const;
    double ownRampCPerS() const;
    const Plant& plant() const;
    bool fanOn() const;
    bool stripLifted() const;
    bool enabled() const;
    bool has(Fault fault) const; ///< Now.
    std::optional<double> valueOf(Fault fault) const;
    bool reachable() const; ///< Neither silent nor in the middle of a reboot.
    const std::vector<TimedFault>& faults() const;
    void addFault(TimedFault fault); ///< Its times count from now on.
    DriveKind drive() const;

    const std::vector<std::string>& truthNames() const;
    double truthC(const std::string& name) const; ///< NaN if there is none of that name.
    double stationC(StationId station) const;     ///< Of the heat model; NaN if there is none.
    EnergyBalance energy() const;

    static constexpr double stepS = 0.05, sampleS = 0.1;
    static constexpr double setpointFloorC = 0, setpointMaxC = 400;
    static constexpr double watchdogMinS = 0.5, watchdogMaxS = 60, ownRampMaxCPerS = 100;

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
