#pragma once

#include <array>
#include <optional>
#include <string>

namespace stripwright {

constexpr int maxExtraChannels = 24;

/// One valid answer of the plate, taken in one cycle. Fixed size: the control thread does not allocate.
struct PlateReading {
    double sensorC = 0;              ///< Finite, no sentinel, inside the map's range.
    std::optional<double> setpointC; ///< As read back, set-point plates only.
    std::optional<double> duty;      ///< As read back, 0 to 1.
    std::optional<double> stripC;    ///< Thermocouple on the strip; none: there is none, or it is faulty.
    std::optional<bool> enabled;     ///< Enable output as read back.
    bool sensorFault = false;        ///< Sentinel, status bit or out of range; sensorC then means nothing.
    /// The bit that says so: the plate has cut its heater by its own watchdog, now or, where it latches, at
    /// any time since it was last cleared.
    bool watchdogTripped = false;
    /// Duty, set-point or a setting of the link reads other than what was last written and confirmed;
    /// lastError() names it.
    bool foreignWrite = false;
    /// What drives the heater stands as it was last written, whether that was answered or not; none: unknown.
    std::optional<bool> asWritten;
    /// Duty, set-point or enable output reads above what heaterOff() leaves it at: the plate is told to heat.
    bool toldToHeat = false;
    std::optional<unsigned>
        counter;        ///< Plate's own update counter; one that stands still is a stale reading.
    int extraCount = 0; ///< Further channels, in the order of the link file.
    std::array<double, maxExtraChannels> extraC{};
};

/// A heated plate with its sensors. Reads and drives; decides nothing, and never throws after construction.
class Plate {
public:
    virtual ~Plate() = default;
    virtual std::optional<PlateReading> read() = 0;  ///< No value: no valid answer this cycle.
    virtual bool setDuty(double duty) = 0;           ///< 0 to 1. True only after it was read back equal.
    virtual bool setSetpointC(double setpointC) = 0; ///< True only after it was read back equal.
    /// Whether a separate output can take the power from the heater.
    virtual bool hasEnable() const { return false; }
    /// Lets the heater have power, or takes it. True only after it was read back, and for a plate without
    /// that output.
    virtual bool setEnable(bool) { return true; }
    /// Duty 0, set-point to its floor, enable output off, as far as the plate has them. True only after all
    /// was read back.
    virtual bool heaterOff() = 0;
    /// Whether clearWatchdog() reaches anything at all.
    virtual bool canClearWatchdog() const { return false; }
    /// Tells the plate to take back its watchdog bit. Only while the heater is read back off: a plate may
    /// lift its cut by it. True once it was acknowledged, and for a plate without such a register; whether
    /// the bit is clear the next readings tell.
    virtual bool clearWatchdog() { return true; }
    /// Whether setFan() reaches a fan at all; else it is switched by hand.
    virtual bool hasFan() const { return true; }
    /// Cooling fan on or off. True only after it was read back, and for a plate without a fan output.
    virtual bool setFan(bool on) = 0;
    /// Tells the plate whether the strip lies on it or is lifted off; only a simulated plate can act on it.
    /// True only after it was read back, and for a plate that does not ask.
    virtual bool setStripLifted(bool lifted) = 0;
    /// Why the last call failed, in words; empty after success, unless a reading that came was odd.
    virtual std::string lastError() const = 0;
    /// The last read() got an answer, and the answer was a refusal.
    virtual bool refusesToBeRead() const { return false; }
    /// The last call got no answer at all: one more would only wait as long.
    virtual bool silent() const { return false; }
    /// Of the last requests, those without a valid answer, 0 to 1.
    virtual double failedShare() const { return 0; }
    /// Time between fresh readings, in the plate's own time; 0: as often as it is read. From any thread.
    virtual double readingEveryS() const { return 0; }
    /// No plan may go higher, by what is known of the plate itself; none: nothing is. From any thread.
    virtual std::optional<double> highestC() const { return {}; }
};

} // namespace stripwright
