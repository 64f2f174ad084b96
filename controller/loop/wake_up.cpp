#include "loop/wake_up.h"

#include <cerrno>
#include <cmath>
#include <ctime>

namespace stripwright {

static double secondsOf(clockid_t clock)
{
    timespec now{};
    clock_gettime(clock, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

double clockS()
{
    return secondsOf(CLOCK_MONOTONIC);
}

double asleepS()
{
    return secondsOf(CLOCK_BOOTTIME) - secondsOf(CLOCK_MONOTONIC);
}

static timespec timeOf(double monotonicS)
{
    timespec time{};
    time.tv_sec = static_cast<time_t>(monotonicS);
    time.tv_nsec = static_cast<long>((monotonicS - std::floor(monotonicS)) * 1e9);
    return time;
}

void rest(double untilMonotonicS)
{
    const timespec until = timeOf(untilMonotonicS);
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, nullptr) == EINTR) {
    }
}

bool WakeUp::sleepUntil(double monotonicS)
{
    const timespec deadline = timeOf(monotonicS);
    for (;;) {
        if (sem_clockwait(&calls_, CLOCK_MONOTONIC, &deadline) == 0) {
            while (sem_trywait(&calls_) == 0) {
            }
            return true;
        }
        if (errno != EINTR)
            return false;
    }
}

} // namespace stripwright
