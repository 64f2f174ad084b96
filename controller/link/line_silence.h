#pragma once

#include "link/plate_link.h"

#include <array>

namespace stripwright {

/// The silences of an RTU line. libmodbus keeps none (its issue #494). Waits by the monotonic clock, and
/// reads and throws away what comes while nothing was asked.
class LineSilence {
public:
    explicit LineSilence(const SerialLine& line);

    void exchanged(); ///< An answer has just ended.
    /// An answer of up to `lateCharacters` may still come: the next silence is the longest turn-round.
    void doubt(int lateCharacters);

    enum class Found { Silent, Busy, Gone };
    /// Returns once the line has been silent for long enough, or at once when that would take more than
    /// `longestS` from now, or when `fd` has hung up.
    Found wait(int fd, double longestS);

    /// Bytes nobody asked for came at least three times within the last 10 s. Fewer than 4 bytes are noise.
    bool othersTalk() const;

private:
    void throwAway(int count);

    double frameS_, doubtS_;
    double lastS_;       // when the line was last known to be in use
    bool doubt_ = true;  // another program may have asked just before
    int expected_ = 256; // late characters that would be no surprise
    int surplus_ = 0;
    std::array<double, 3> unaskedS_; // when bytes came that nobody asked for; the oldest is overwritten
    size_t nextUnasked_ = 0;
};

double monotonicS();

} // namespace stripwright
