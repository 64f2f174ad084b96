#pragma once

#include <semaphore.h>

namespace stripwright {

/// Sleeps until a time of the monotonic clock, or until another thread calls.
class WakeUp {
public:
    WakeUp() { sem_init(&calls_, 0, 0); }
    ~WakeUp() { sem_destroy(&calls_); }
    WakeUp(const WakeUp&) = delete;
    WakeUp& operator=(const WakeUp&) = delete;

    void call() { sem_post(&calls_); }  ///< From any thread. Calls that come before the next sleep are one.
    bool sleepUntil(double monotonicS); ///< True if called.

private:
    sem_t calls_;
};

double clockS();
void rest(double untilMonotonicS); ///< Whoever calls.
/// Time the computer has been asleep since boot; the monotonic clock stands still meanwhile.
double asleepS();

} // namespace stripwright
