#pragma once

#include "interlocks/interlock_set.h"
#include "link/plate_link.h"

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
};

/// Heats a plate as it is told, watched by every check. Before arm() the plate's heat is not known: the
/// checks that compare with its model are silent, and nothing may get warmer than 40 K above its first
/// reading. Any trip, stop() or the end of its time turns the heater off, for good, every cycle until it was
/// read back.
class WatchedHeating {
public:
    WatchedHeating(Plate& plate, const HeatingBounds& bounds);

    struct Seen {
        double timeS = 0; ///< Plant time since the first cycle.
        double sensorC = 0;
        double duty = 0; ///< What the heater gets, as read back.
    };
    /// One cycle: reads, checks, writes that duty. A set-point plate gets a set-point 15 K over its reading
    /// for any duty above 0, and its floor for 0. None: no usable reading this cycle.
    std::optional<Seen> cycle(double wallS, double duty);

    /// From now on every check. `roughly`: what is known of the plate by now.
    void arm(const PlateFigures& roughly);
    void stop(const std::string& why); ///< Heater off from now on.

    bool stopped() const { return !why_.empty(); }
    const std::string& why() const { return why_; } ///< Of a stop; empty while it goes on.
    std::optional<Interlock> tripped() const;       ///< The check that ended it, if one did.
    bool heaterOff() const { return offReadBack_; } ///< Read back.

private:
    void write(bool heat, double duty);

    Plate& plate_;
    const HeatingBounds bounds_;
    std::optional<InterlockSet> checks_;
    bool armed_ = false, first_ = true, offReadBack_ = false, confirmed_ = true;
    double firstWallS_ = 0, lastWallS_ = 0, duty_ = 0;
    std::optional<PlateReading> reading_;
    std::optional<double> lastDuty_;
    std::string why_;
};

} // namespace stripwright
