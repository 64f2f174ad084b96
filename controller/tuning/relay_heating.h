#pragma once

#include "loop/pid.h"
#include "tuning/watched_heating.h"

namespace stripwright {

/// Gains by a second way that needs no model: the heater is switched between full and nothing, in shares,
/// about a temperature until three swings are alike (K. J. Åström, T. Hägglund, Automatica 20 (1984) 645;
/// hysteresis and asymmetry after the same authors' Advanced PID Control, 2006, ch. 8):
///
///     K = Ku/2.2, Ti = 2.2 Tu, Td = Tu/6.3
///
/// Hysteresis ε makes the plate swing where its phase is still asin(ε/a) short of -180°, a half the swing of
/// the reading. A plate is an integrator behind lags and a dead time, so that the rest of the way is known:
///
///     q = (π/2) / (π/2 - asin(ε/a)),  Ku = q 4 d / (π a),  Tu = T/q
///
/// d half the step of the duty, T the period of the swing. A heater warms faster than a plate cools: after
/// each swing the upper duty is set so that both halves take about as long.
struct RelayResult {
    double ultimateDutyPerK = 0, ultimatePeriodS = 0;
    double staticGainKPerDuty = 0; ///< Mean rise above ambient over mean duty, of the last swing.
    PidGains gains;
    std::vector<std::string> refusals; ///< Empty: the gains may be used.
};

class RelayHeating {
public:
    /// For a plate driven by duty whose figures a guided heating has found.
    RelayHeating(Plate& plate, const HeatingBounds& bounds, const PlateFigures& figures, double aroundC);

    void cycle(double wallS);
    bool ended() const { return over_ && heating_.heaterOff(); }
    void stop(const std::string& why) { heating_.stop(why); }

    double duty() const { return duty_; }
    double sensorC() const { return sensorC_; } ///< Last reading.
    int swings() const { return static_cast<int>(swings_.size()); }
    const std::string& why() const { return heating_.why(); } ///< It was broken off; empty: it was not.
    RelayResult result() const;

private:
    struct Swing {
        double fromS = 0, toS = 0, highestC = -1e9, lowestC = 1e9;
        double dutyS = 0, riseKs = 0; ///< Integrals over the swing.
        double high = 0;              ///< Upper duty in it.
        double periodS() const { return toS - fromS; }
        double amplitudeK() const { return (highestC - lowestC) / 2; }
    };
    void decide(const WatchedHeating::Seen& seen);
    bool threeAlike() const;

    WatchedHeating heating_;
    const double aroundC_, ambientC_;
    double duty_ = 0, high_ = 1, lastS_ = 0, sensorC_ = 0;
    bool reached_ = false, over_ = false;
    std::optional<Swing> swing_;
    std::vector<Swing> swings_;
};

} // namespace stripwright
