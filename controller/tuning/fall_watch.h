#pragma once

#include "tuning/watched_heating.h"

namespace stripwright {

/// Stays with a plate whose heating a check has broken off: whatever heated it unasked, another master or a
/// relay that sticks, may do so again after "off" was read back once. Turns the heater off in every cycle
/// until the plate is seen to get colder by 3 K, or stands below 45 °C for 20 s without getting warmer.
class FallWatch {
public:
    FallWatch(Plate& plate, const HeatingBounds& bounds);

    void cycle(double wallS);
    bool ended() const { return over_ && off_; }
    void stop(const std::string& why) { why_ = why; } ///< Ends it once the heater is read back off.

    const char* stepInWords() const;
    double timeS() const { return timeS_; }
    std::optional<double> sensorC() const { return sensorC_; } ///< None: it does not say.
    std::optional<double> duty() const;                        ///< None: it does not tell.
    bool getsHotter() const; ///< Though its heater was told to be off, by more than what lags explain.
    const std::string& why() const { return why_; }

private:
    Plate& plate_;
    const HeatingBounds bounds_;
    std::optional<double> firstWallS_, firstC_, sensorC_, duty_;
    double timeS_ = 0, answeredS_ = 0, highestC_ = -INFINITY, coldSinceS_ = 0, coldFromC_ = -INFINITY;
    bool off_ = false, over_ = false;
    std::string why_;
};

} // namespace stripwright
