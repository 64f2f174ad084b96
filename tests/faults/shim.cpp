// Loaded into the controller by LD_PRELOAD: clocks and disks that go wrong when told to.

#include "shim_control.h"

#include <cerrno>
#include <climits>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <fcntl.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <unistd.h>

using stripwright::faults::ShimControl;

static ShimControl nothing{};

static ShimControl* map()
{
    const char* file = std::getenv(stripwright::faults::shimVariable);
    const int fd = file ? static_cast<int>(syscall(SYS_openat, AT_FDCWD, file, O_RDONLY | O_CLOEXEC)) : -1;
    if (fd < 0)
        return &nothing;
    void* mapped = mmap(nullptr, sizeof(ShimControl), PROT_READ, MAP_SHARED, fd, 0);
    syscall(SYS_close, fd);
    return mapped == MAP_FAILED ? &nothing : static_cast<ShimControl*>(mapped);
}

static const ShimControl& control()
{
    static ShimControl* const mapped = map();
    return *mapped;
}

static bool isRunLog(int fd)
{
    char link[64], name[PATH_MAX];
    std::snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    const ssize_t length = readlink(link, name, sizeof name - 1);
    name[length > 0 ? length : 0] = 0;
    return std::strstr(name, ".runs") != nullptr;
}

extern "C" {

int clock_gettime(clockid_t clock, timespec* time) noexcept
{
    const long result = syscall(SYS_clock_gettime, clock, time);
    if (result != 0)
        return static_cast<int>(result);
    const double aheadS = clock == CLOCK_BOOTTIME   ? control().bootAheadS
                          : clock == CLOCK_REALTIME ? control().realAheadS
                                                    : 0;
    time->tv_sec += static_cast<time_t>(aheadS);
    return 0;
}

time_t time(time_t* out) noexcept
{
    timespec now{};
    clock_gettime(CLOCK_REALTIME, &now);
    if (out)
        *out = now.tv_sec;
    return now.tv_sec;
}

static bool failsToWrite(int fd)
{
    if (control().writeErrno == 0 || !isRunLog(fd))
        return false;
    errno = control().writeErrno;
    return true;
}

ssize_t write(int fd, const void* bytes, size_t count)
{
    return failsToWrite(fd) ? -1 : syscall(SYS_write, fd, bytes, count);
}

ssize_t pwrite(int fd, const void* bytes, size_t count, off_t at)
{
    return failsToWrite(fd) ? -1 : syscall(SYS_pwrite64, fd, bytes, count, at);
}

ssize_t pwrite64(int fd, const void* bytes, size_t count, off64_t at)
{
    return pwrite(fd, bytes, count, at);
}

static int syncOn(int fd, long call)
{
    if ((control().syncErrno != 0 || control().syncTakesS > 0) && isRunLog(fd)) {
        if (const double takesS = control().syncTakesS; takesS > 0) {
            timespec wait{static_cast<time_t>(takesS), static_cast<long>(std::fmod(takesS, 1) * 1e9)};
            nanosleep(&wait, nullptr);
        }
        if (control().syncErrno != 0) {
            errno = control().syncErrno;
            return -1;
        }
    }
    return static_cast<int>(syscall(call, fd));
}

int fsync(int fd)
{
    return syncOn(fd, SYS_fsync);
}

int fdatasync(int fd)
{
    return syncOn(fd, SYS_fdatasync);
}

} // extern "C"
