#pragma once

#include "interlocks/interlock_set.h"
#include "interlocks/watchdog_at_rest.h"
#include "link/plate_link.h"
#include "loop/own_loop_model.h"
#include "tuning/plate_fit.h"

namespace stripwright {

/// Bounds of a heating that learns something about a bare plate.
struct HeatingBounds {
    DriveKind drive = DriveKind::Duty;
    double setpointFloorC = 0;
    double topC = 180;      ///< Highest temperature aimed at.
    double plateMaxC = 300; ///< As on the plate.
    double longestS = 1500; ///< Heat off after this, by the plate's clock or the wall's.
    double periodS = 0.2;
    double plantSPerWallS = 1; ///< Above 1 only for a simulated plate.
    std::optional<double> ownRampCPerS; ///< As OwnLoopFigures::rampCPerS.
};

/// Heats a plate as it is told, watched by every check. Before arm() the plate's heat is not known: the
/// checks that compare with its model are silent, and nothing may get warmer than 40 K above its first
/// reading. There is no heat before the plate's watchdog bit was looked at. Any trip, stop() or the end of
/// its time turns the heater off, for good, every cycle until it was read back.
class WatchedHeating {
public:
    WatchedHeating(Plate& plate, const HeatingBounds& bounds);

    struct Seen {
        double timeS = 0; ///< Plant time since the first cycle.
        double sensorC = 0;
        std::optional<double> duty; ///< What the heater gets, as read back; none: the plate does not tell.
        double setpointC = 0;       ///< What a plate driven by it stands at; its floor: heater off.
    };
    /// One cycle: reads, checks, writes that duty, or that set-point to a plate driven by it. None, and at or
    /// below the floor: heater off. Returns none without a usable reading this cycle.
    std::optional<Seen> cycle(double wallS, double duty);
    std::optional<Seen> cycleAtC(double wallS, std::optional<double> setpointC);

    /// From now on every check. `roughly`: what is known of the plate by now.
    void arm(const PlateFigures& roughly);
    /// In mid-heat, on a plate with a loop of its own, as it stands now; `before`: what it gave, and read.
    void arm(const PlateFigures& roughly, const OwnLoopModel& ownLoop, const HeatingRecord& before);
    /// Whether a plate without heat, `restedS` after its first reading, is cold and at rest: what an earlier
    /// heat has left in its element would be taken for heat of this one. Then the record keeps the last
    /// seconds of it. Stops what is warm, or does not come to rest.
    bool hasRested(HeatingRecord& record, const Seen& seen, double restedS);
    /// It may get as warm as its top, though its heat is not known: the checks that need it stay silent.
    void letRise();
    void stop(const std::string& why); ///< Heater off from now on.

    bool stopped() const { return !why_.empty(); }
    const std::string& why() const { return why_; } ///< Of a stop; empty while it goes on.
    std::optional<Interlock> tripped() const;       ///< The check that ended it, if one did.
    bool heaterOff() const { return offReadBack_; } ///< Read back.

private:
    struct Wish {
        double duty = 0; ///< Or, of a set-point plate, 1 for a set-point above its floor.
        double setpointC = 0;
    };
    std::optional<Seen> cycle(double wallS, const Wish& wish);
    void write(bool heat, const Wish& wish);

    Plate& plate_;
    const HeatingBounds bounds_;
    std::optional<InterlockSet> checks_;
    WatchdogAtRest watchdog_;
    bool armed_ = false, first_ = true, offReadBack_ = false, confirmed_ = true;
    bool offSeen_ = false; // read back at least once; there is no heat before the watchdog bit was looked at
    double firstWallS_ = 0, lastWallS_ = 0, duty_ = 0;
    std::optional<PlateReading> reading_;
    std::optional<double> lastDuty_;
    std::optional<OwnLoopModel> ownLoop_;
    double ownLoopAtS_ = 0, ownLoopDuty_ = 0, setpointC_ = 0;
    std::string why_;
};

} // namespace stripwright
