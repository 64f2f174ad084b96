#include "stalling_disk.h"

#include <atomic>
#include <ctime>
#include <sys/syscall.h>
#include <unistd.h>

namespace stripwright {

static std::atomic<double> stallFromS = 1e300, stallToS = 1e300;
static std::atomic<int> stalled = 0;

static double monotonicS()
{
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

void stallDisk(double afterS, double forS)
{
    const double nowS = monotonicS();
    stallToS = nowS + afterS + forS;
    stallFromS = nowS + afterS;
}

int stalledCalls()
{
    return stalled;
}

static void waitOut()
{
    const double nowS = monotonicS();
    if (nowS < stallFromS || nowS >= stallToS)
        return;
    ++stalled;
    while (monotonicS() < stallToS)
        usleep(1000);
}

} // namespace stripwright

// SQLite, a shared library, finds these before the C library's own.
extern "C" int fsync(int fd)
{
    stripwright::waitOut();
    return static_cast<int>(syscall(SYS_fsync, fd));
}

extern "C" int fdatasync(int fd)
{
    stripwright::waitOut();
    return static_cast<int>(syscall(SYS_fdatasync, fd));
}
