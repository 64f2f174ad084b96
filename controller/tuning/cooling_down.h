#pragma once

#include "tuning/learnt_figures.h"
#include "tuning/watched_heating.h"

namespace stripwright {

inline constexpr double safeToTouchC = 45;

/// What a plate did with its heater off.
struct CoolingResult {
    bool watched = false; ///< There was such a time at all.
    double fromC = 0;     ///< Where the times below begin.
    /// Losses seen while it coasted without a fan, over those that its heating told; none: cut too short.
    std::optional<double> lossFactor;
    double lossFactorError = 0;
    std::optional<double> fanLossWPerK; ///< None: no fan that can be switched, cut too short, or not told.
    double fanLossError = 0;            ///< Share of it.
    bool fanBlew = false, fanTellsNothing = false; ///< It blew, and nothing came of it.
    /// From fromC down to safe to touch, by what was learnt; none: never in a day.
    std::optional<double> safeS, safeWithFanS;
    std::string brokenOff;     ///< By anything but the operator.
    bool heatsUnasked = false; ///< A check says so: nothing learnt of such a plate may be used.
};

/// Watches a bare plate cool after its heat was learnt: first without its fan, then with it where its link
/// switches one, down to safe to touch, for 15 min at most. Every check stays on; the heater is turned off in
/// every cycle. The fan is switched off at the end.
class CoolingDown {
public:
    CoolingDown(Plate& plate, HeatingBounds bounds, const PlateFigures& figures);

    void cycle(double wallS);
    bool ended() const { return over_ && heating_.heaterOff() && !fanOn_; }
    void stop(const std::string& why); ///< Ends it; what was seen until then counts.

    const char* stepInWords() const { return fanSince_ ? "cooling, with the fan" : "cooling, without a fan"; }
    double timeS() const { return timeS_.empty() ? 0 : timeS_.back(); }
    double sensorC() const { return sensorC_.empty() ? 0 : sensorC_.back(); }
    const std::string& why() const { return heating_.why(); }
    CoolingResult result(double fromC, const LearntErrors& errors) const;

private:
    void decide();
    void switchFan(bool on);
    std::pair<size_t, size_t> settled(size_t from, size_t to) const;

    Plate& plate_;
    WatchedHeating heating_;
    const HeatingBounds bounds_;
    const PlateFigures figures_;
    std::vector<double> timeS_, sensorC_;
    std::optional<size_t> fanSince_; // index of the first reading with it
    bool over_ = false, byOperator_ = false, fanOn_ = false;
    int fanFailures_ = 0;
};

/// What was seen of it in words, a line each.
std::vector<std::string> coolingLines(const CoolingResult& cooling, const IdentifiedPlate& learnt,
                                      double ambientC);

/// Time for a plate of these figures to coast from one temperature to the other; none: not within a day.
/// `fanLossWPerK`: added to its linear loss.
std::optional<double> coastingS(const PlateFigures& plate, double fromC, double toC, double fanLossWPerK = 0);

} // namespace stripwright
