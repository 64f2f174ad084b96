#pragma once

#include "tuning/plate_fit.h"
#include "tuning/watched_heating.h"

namespace stripwright {

/// One guided heating of a bare plate that tells its heat: a while at rest, a short pulse from which P/C is
/// known roughly and every check gets armed, full heat to two thirds of the way, a pause, full heat to the
/// top, and a long coast.
class GuidedHeating {
public:
    GuidedHeating(Plate& plate, const HeatingBounds& bounds, double powerW, double ambientC);

    void cycle(double wallS);
    bool ended() const { return step_ == Step::Ended && heating_.heaterOff(); }
    void stop(const std::string& why) { heating_.stop(why); }

    const char* stepInWords() const;
    double duty() const { return duty_; }
    const HeatingRecord& record() const { return record_; }
    const std::string& why() const { return heating_.why(); } ///< It was broken off; empty: it was not.

private:
    enum class Step { Rest, Pulse, AfterPulse, First, Pause, Second, Coast, Ended };
    void go(Step step, double timeS);
    void decide(const WatchedHeating::Seen& seen);
    void armFromPulse();
    double slopeCPerS() const; ///< Of the last two seconds.

    WatchedHeating heating_;
    const HeatingBounds bounds_;
    const double powerW_, ambientC_;
    HeatingRecord record_;
    Step step_ = Step::Rest;
    double duty_ = 0, stepFromS_ = 0, restC_ = 0, pulseDutyS_ = 0, lastS_ = 0, hottestC_ = 0;
};

} // namespace stripwright
