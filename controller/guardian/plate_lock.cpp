#include "guardian/plate_lock.h"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <sys/file.h>
#include <unistd.h>

namespace stripwright {

// One name for one line, whatever the link file calls it.
static std::string lineName(const PlateLink& link)
{
    if (!link.serial)
        return link.host + "-" + std::to_string(link.port);
    std::error_code none;
    const auto device = std::filesystem::canonical(link.serial->device, none);
    return none ? link.serial->device : device.string();
}

PlateLock::PlateLock(const PlateLink& link)
{
    const char* runtime = std::getenv("XDG_RUNTIME_DIR");
    std::string plate = lineName(link);
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
        throw PlateInUse("another controller drives the plate at " + placeOf(link) +
                         "; end it first (lock: " + name + ")");
    }
}

PlateLock::~PlateLock()
{
    close(file_);
}

} // namespace stripwright
