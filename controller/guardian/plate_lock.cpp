#include "guardian/plate_lock.h"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

namespace stripwright {

PlateLock::PlateLock(const std::string& host, int port)
{
    const char* runtime = std::getenv("XDG_RUNTIME_DIR");
    std::string plate = host + "-" + std::to_string(port);
    for (char& c : plate)
        if (c == '/')
            c = '_';
    const std::string name =
        std::string(runtime && *runtime ? runtime : "/tmp") + "/stripwright-plate-" + plate + ".lock";
    file_ = open(name.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (file_ < 0)
        throw PlateInUse(name + ": the plate's lock cannot be taken (" + std::strerror(errno) +
                         "); does another user's controller drive this plate?");
    if (flock(file_, LOCK_EX | LOCK_NB) != 0) {
        close(file_);
        throw PlateInUse("another controller drives the plate at " + host + ":" + std::to_string(port) +
                         "; end it first (lock: " + name + ")");
    }
}

PlateLock::~PlateLock()
{
    close(file_);
}

} // namespace stripwright
