#pragma once

#include "analysis/curve.h"

#include <optional>
#include <vector>

namespace stripwright {

/// What sets how an LED that is set down cold on a liquid pad warms. Lumped: the body as one slab of heat
/// capacity C behind R_e from core to body and 0.4 of its own R_s,
///
///     T_b(t) = T_p - (T_p - T_0) exp(-t / tau),   tau = C (R_e + 0.4 R_s)
///
/// which is the first mode of the slab with an insulated top to within 5 % (Bi = R_s / R_e).
struct SetDownBody {
    double heatCapacityJPerK = 0;
    double toCoreKPerW = 0; ///< R_e: dielectric under the heated copper, and solder.
    double acrossKPerW = 0; ///< R_s: through the body itself.
    double tauS() const { return heatCapacityJPerK * (toCoreKPerW + 0.4 * acrossKPerW); }
    bool operator==(const SetDownBody&) const = default;
};

/// Time until that body, set down at startC on a pad at padC, has come to meltsC: the solder under it is
/// liquid again by then. The underside is there earlier. None on a pad that is no hotter than meltsC.
std::optional<double> remeltS(const SetDownBody& body, double padC, double startC, double meltsC);

/// Lowest a pad gets under a cold body, and when. Pad and body as two lumps, the core held:
///
///     a = (1/R_d + 1/R_j) / C_p, b = 1 / (R_j C_p), c = 1 / (R_j C),
///     l_1,2 = ((a + c) ± sqrt((a - c)² + 4 b c)) / 2, lowest at t* = ln(l_1 / l_2) / (l_1 - l_2)
struct PadDip {
    double padJPerK = 0, bodyJPerK = 0;
    double padToCoreKPerW = 0, padToBodyKPerW = 0;
    double coreC = 0, startC = 0;

    double padC(double seconds) const;
    double bodyC(double seconds) const;
    double lowestAtS() const;
};

/// What the hands do while joints are liquid. Order of sites is the order of work.
struct HandWork {
    std::vector<int> sites;
    double meltsC = 0; ///< Every one of their joints is liquid from here.
    double firstS = 0, eachS = 0;
    bool setsDown = false; ///< A new LED each; false: lifting only.
    double wettingS = 0;   ///< Liquid time to leave after the last set-down.
    double newMeltsC = 0;  ///< Liquidus of the joint that is made.
    SetDownBody body;
    double needS() const { return firstS + eachS * static_cast<double>(sites.size()) + wettingS; }
};

/// When the hands are done with each site, by the curves that get least hot.
struct HandTimes {
    std::optional<double> sureFromS; ///< Every joint is liquid; none: one never is.
    std::vector<double> doneS;       ///< As HandWork::sites: set down, or lifted off.
    bool operator==(const HandTimes&) const = default;
};

/// `joints`: the coldest curves of HandWork::sites in order. Where a joint never melts, times go on from its
/// peak, so that a search still has something to move.
HandTimes handTimesOf(const HandWork& work, const std::vector<Curve>& joints);

/// One site as the hands work on it.
struct SiteWork {
    std::optional<double> sureFromS; ///< As HandTimes.
    double doneS = 0;                ///< The new LED set down, or the old one lifted off.
    double lastDoneS = 0;            ///< Of the last site.
    double startC = 25;              ///< The new LED's own temperature when it is set down.
    SetDownBody body;
};

/// Temperature of the new LED's body from its set-down on, at the joint's own times after that.
struct OwnedCurve {
    std::vector<double> timeS, valueC;
    operator Curve() const { return {timeS, valueC}; }
};
OwnedCurve newLedCurve(Curve joint, const SiteWork& work);

} // namespace stripwright
