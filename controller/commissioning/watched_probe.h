#pragma once

#include "commissioning/surroundings.h"
#include "interlocks/interlock_set.h"
#include "interlocks/watchdog_at_rest.h"

#include <functional>

namespace stripwright {

/// The draft's link as a plate is probed through it: the sensor's registers are read raw, in one request, and
/// no other channel. `onlySensor`: nothing else is read or written.
PlateLink probingLink(const DraftLink& draft, const SensorWidths& widths, bool onlySensor);
SensorWords sensorWordsOf(const PlateReading& reading); ///< Of a plate opened by a probing link.

/// Heats a plate whose sensor is not understood yet, watched by every check that knows no model, for each
/// sensible candidate on its own: none may move faster than 5 K/s or get warmer than 40 K above its first
/// reading, there is none before its watchdog bit was looked at, and there is heat for 150 s at most in all,
/// by the plate's clock or the wall's. Anything of that, or the operator's stop, turns the heater off for
/// good.
class WatchedProbe {
public:
    static constexpr double cycleS = 0.2, mostHeatS = 150;

    struct Heat {
        double duty = 0;    ///< Above 0 a set-point plate gets `setpointC`.
        bool enable = true; ///< Enable output while there is duty.
        bool enableAlone =
            false; ///< At duty 0: enable output on, so that nothing but the duty keeps it cold.
        double setpointC = 0;
        bool asItIs = false; ///< Nothing is written: the heater keeps what it has been told.
    };

    /// Opens the plate. Throws LinkError.
    WatchedProbe(Surroundings& around, const PlateLink& link, CandidateTable& table);

    /// Cycles of that heat for `forS`, or until `enough`. False: it was stopped.
    bool hold(const Heat& heat, double forS, const std::function<bool()>& enough = {});
    /// Tries for 60 s, on a line opened for nothing else if there is none. True: read back off.
    bool off();

    /// Leaves the line alone, whatever the heater has been told, for `forS` (the operator's stop ends it),
    /// and comes back. None: stopped, then nothing is opened before off(), or the plate could not be read
    /// again.
    struct Silence {
        double lastedS = 0; ///< Since the last request before it, at most.
        PlateReading after;
    };
    std::optional<Silence> goSilent(double forS);

    void close() { plate_.reset(); } ///< The line is free; for when the heater is off.
    Plate& plate() { return *plate_; }
    const std::optional<PlateReading>& reading() const { return reading_; } ///< Of the last cycle.
    bool heatConfirmed() const { return duty_ > 0 && confirmed_; }          ///< As last written, read back.
    double givenDutyS() const { return givenDutyS_; } ///< Duty times seconds so far, as read back.
    void stop(const std::string& why);
    const std::string& why() const { return why_; } ///< Of the stop; empty: there was none.

private:
    void cycle(const Heat& asked);
    void examine(double wallS, double plantS, const Heat& heat);
    void write(const Heat& heat);
    void lookAtWatchdog(double wallS);
    void countHeat(double plantS, double wallS);
    bool command(const Heat& heat);
    using Opening = std::unique_ptr<Plate> (Surroundings::*)(const PlateLink&);
    bool open(Opening opening);
    std::optional<double> knownC() const, knownDuty() const;

    Surroundings& around_;
    const PlateLink link_;
    CandidateTable& table_;
    std::unique_ptr<Plate> plate_;
    std::vector<std::optional<InterlockSet>> checks_; // one a candidate
    WatchdogAtRest watchdog_;
    std::optional<PlateReading> reading_;
    std::optional<double> lastWallS_, lastPlantS_;
    double duty_ = 0, heatS_ = 0, heatWallS_ = 0, givenDutyS_ = 0;
    int notTaken_ = 0; // commands in a row that were not read back although the plate answers
    bool confirmed_ = true;
    bool offSeen_ = false; // read back at least once; there is no heat before the watchdog bit was looked at
    std::string why_;
};

} // namespace stripwright
