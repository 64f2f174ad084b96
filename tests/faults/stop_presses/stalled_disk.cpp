// The C library's calls, for this program and every library in it, with a disk that can stand still.

#include "stalled_disk.h"

#include <atomic>
#include <cstdarg>
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

static std::atomic<bool> stalled = false;

namespace stripwright::test {

void stallDisk(bool on)
{
    stalled = on;
}

} // namespace stripwright::test

static void waitForDisk()
{
    while (stalled)
        usleep(10000);
}

static void waitForDisk(int file)
{
    struct stat what {};
    if (stalled && fstat(file, &what) == 0 && S_ISREG(what.st_mode))
        waitForDisk();
}

template <class Call> static Call next(const char* name)
{
    return reinterpret_cast<Call>(dlsym(RTLD_NEXT, name));
}

extern "C" {

int open64(const char* path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = va_arg(rest, mode_t);
    va_end(rest);
    struct stat what {};
    if (stalled && stat(path, &what) == 0 && S_ISREG(what.st_mode))
        waitForDisk();
    static const auto real = next<int (*)(const char*, int, ...)>("open64");
    return real(path, flags, mode);
}

ssize_t pread64(int file, void* to, size_t size, off64_t at)
{
    waitForDisk(file);
    static const auto real = next<ssize_t (*)(int, void*, size_t, off64_t)>("pread64");
    return real(file, to, size, at);
}

ssize_t read(int file, void* to, size_t size)
{
    waitForDisk(file);
    static const auto real = next<ssize_t (*)(int, void*, size_t)>("read");
    return real(file, to, size);
}

int fsync(int file)
{
    waitForDisk(file);
    static const auto real = next<int (*)(int)>("fsync");
    return real(file);
}

int fdatasync(int file)
{
    waitForDisk(file);
    static const auto real = next<int (*)(int)>("fdatasync");
    return real(file);
}
}
