#pragma once

#include <chrono>

namespace stripwright {

/// Ties plant time to the monotonic clock at `speed` plant seconds a second. The plant is stepped by who owns
/// it.
class PlateClock {
public:
    explicit PlateClock(double speed);

    bool isDue(double plantS) const; ///< Plant time is behind the clock by a step or more.
    int waitMs(double plantS) const; ///< Until the next step is due, rounded up.
    bool dropBacklog(double plantS); ///< More than 1 real second behind: plant time becomes the clock's.

private:
    double owedS(double plantS) const; // real seconds until plantS is reached; negative: behind
    double speed_;
    std::chrono::steady_clock::time_point start_;
};

} // namespace stripwright
