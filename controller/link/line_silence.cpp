#include "link/line_silence.h"

#include "link/line_time.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <poll.h>
#include <unistd.h>

namespace stripwright {

static constexpr double rememberedS = 10;
static constexpr int shortestFrame = 4; // unit, function, checksum

double monotonicS()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

LineSilence::LineSilence(const SerialLine& line)
    : frameS_(frameSilenceS(line)), doubtS_(longestSilenceS(line)), lastS_(monotonicS())
{
    unaskedS_.fill(-rememberedS);
}

void LineSilence::exchanged()
{
    lastS_ = monotonicS();
}

void LineSilence::doubt(int lateCharacters)
{
    lastS_ = monotonicS();
    expected_ = doubt_ ? expected_ + lateCharacters : lateCharacters;
    doubt_ = true;
}

void LineSilence::throwAway(int count)
{
    lastS_ = monotonicS();
    const int late = std::min(count, expected_);
    expected_ -= late;
    const bool alreadyCounted = surplus_ >= shortestFrame;
    surplus_ += count - late;
    if (surplus_ < shortestFrame || alreadyCounted)
        return;
    unaskedS_[nextUnasked_] = lastS_;
    nextUnasked_ = (nextUnasked_ + 1) % unaskedS_.size();
}

LineSilence::Found LineSilence::wait(int fd, double longestS)
{
    const double givenUpS = monotonicS() + longestS;
    surplus_ = 0;
    for (;;) {
        const double silentS = lastS_ + (doubt_ ? doubtS_ : frameS_);
        const double leftS = std::max(0.0, silentS - monotonicS());
        pollfd input{fd, POLLIN, 0};
        // Asleep for what is left of a silence that can still be had in time; bytes end the sleep.
        const double sleepS = silentS > givenUpS ? 0 : leftS;
        timespec sleep{static_cast<time_t>(sleepS), static_cast<long>(std::fmod(sleepS, 1.0) * 1e9)};
        const int ready = ::ppoll(&input, 1, &sleep, nullptr);
        if (ready > 0 && (input.revents & POLLIN)) {
            std::uint8_t bytes[256];
            const ssize_t got = ::read(fd, bytes, sizeof bytes);
            if (got <= 0)
                return Found::Gone;
            throwAway(static_cast<int>(got));
        } else if (ready > 0) {
            return Found::Gone;
        } else if (silentS > givenUpS) {
            return Found::Busy;
        } else if (monotonicS() >= silentS) {
            doubt_ = false;
            expected_ = 0;
            return Found::Silent;
        }
        if (monotonicS() > givenUpS)
            return Found::Busy;
    }
}

bool LineSilence::othersTalk() const
{
    return *std::min_element(unaskedS_.begin(), unaskedS_.end()) > monotonicS() - rememberedS;
}

} // namespace stripwright
