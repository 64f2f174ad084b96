#pragma once

#include <algorithm>
#include <ctime>
#include <vector>

namespace stripwright::test {

/// Processor time of this thread, or of another clock, which other programs on the machine disturb least.
template <class Run> double millisecondsOf(Run run, clockid_t clock = CLOCK_THREAD_CPUTIME_ID)
{
    auto now = [clock] {
        timespec time{};
        clock_gettime(clock, &time);
        return static_cast<double>(time.tv_sec) * 1e3 + static_cast<double>(time.tv_nsec) * 1e-6;
    };
    const double start = now();
    run();
    return now() - start;
}

inline double median(std::vector<double> values)
{
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

} // namespace stripwright::test
