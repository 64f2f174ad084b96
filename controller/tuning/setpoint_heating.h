#pragma once

#include "tuning/plate_fit.h"
#include "tuning/watched_heating.h"

namespace stripwright {

/// One guided heating of a bare plate with a loop of its own, that tells the plate's heat and its loop: a
/// while at rest, a small step of the set-point, a large one that makes the loop give all it can, a while at
/// the top, a step down, a small one up again, and a long coast.
///
/// A plate that nobody has seen cut its heater when the line falls silent gets its set-point never more than
/// 15 K above its reading if it tells its duty. If it does not, only full heat tells a strong plate with a
/// weak loop from the opposite, and the set-point goes to the top at once: left alone on the way up it goes
/// on to where it would stay if left alone at the top. What is known of plate and loop by then arms the checks
/// that need a model: after the small step if the loop was at its most in it, else half-way up.
class SetpointHeating {
public:
    SetpointHeating(Plate& plate, const HeatingBounds& bounds, double powerW, double ambientC,
                    bool cutsWhenSilent);

    void cycle(double wallS);
    bool ended() const { return step_ == Step::Ended && heating_.heaterOff(); }
    void stop(const std::string& why) { heating_.stop(why); }

    const char* stepInWords() const;
    std::optional<double> duty() const; ///< As told by the plate, or as the model has it; none: unknown yet.
    const HeatingRecord& record() const { return record_; }
    const std::string& why() const { return heating_.why(); } ///< It was broken off; empty: it was not.

private:
    enum class Step { Rest, Small, Climb, Top, Down, Up, Coast, Ended };
    void go(Step step, double timeS);
    void decide(const WatchedHeating::Seen& seen);
    std::optional<double> setpointC();
    bool settled(double timeS) const;
    std::optional<PlateFit> armIfKnown();

    WatchedHeating heating_;
    const HeatingBounds bounds_;
    const double powerW_, ambientC_;
    const bool cutsWhenSilent_;
    HeatingRecord record_;
    Step step_ = Step::Rest;
    double stepFromS_ = 0, restC_ = 0, hottestC_ = 0, sensorC_ = 0, unprovenC_ = -1e9;
    bool armed_ = false, halfWayLooked_ = false;
    std::optional<double> duty_;
};

} // namespace stripwright
