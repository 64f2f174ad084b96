#include "link/serial_port.h"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <linux/serial.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <unistd.h>

namespace stripwright {

bool SerialPort::refuse(std::string why)
{
    release();
    error_ = std::move(why);
    return false;
}

static std::string openingFailed(const std::string& device, int code)
{
    switch (code) {
    case ENOENT:
    case ENODEV:
    case ENXIO:
        return "there is no serial device " + device +
               ": is its adapter plugged in? \"ls /dev/serial/by-id\" shows those that are";
    case EACCES:
    case EPERM:
        return "this user may not open " + device +
               ": add the user to the group that owns it (dialout) and "
               "log in anew";
    case EBUSY:
        return "another program has " + device + " open for itself: end it first";
    default:
        return device + " cannot be opened: " + std::strerror(code);
    }
}

bool SerialPort::take(const std::string& device)
{
    release();
    fd_ = ::open(device.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd_ < 0)
        return refuse(openingFailed(device, errno));
    if (!::isatty(fd_))
        return refuse(device + " is no serial line: check \"device\" in the plate link file");
    if (::flock(fd_, LOCK_EX | LOCK_NB) != 0)
        return refuse(openingFailed(device, EBUSY));
    locked_ = true;
    error_.clear();
    return true;
}

void SerialPort::shut()
{
    ::ioctl(fd_, TIOCEXCL);
}

void SerialPort::release()
{
    if (locked_)
        ::ioctl(fd_, TIOCNXCL);
    if (fd_ >= 0)
        ::close(fd_);
    fd_ = -1;
    locked_ = false;
}

bool SerialPort::hasRts() const
{
    int lines = 0;
    return ::ioctl(fd_, TIOCMGET, &lines) == 0;
}

void SerialPort::askForLowLatency()
{
    serial_struct settings{};
    if (::ioctl(fd_, TIOCGSERIAL, &settings) != 0)
        return;
    settings.flags |= ASYNC_LOW_LATENCY;
    ::ioctl(fd_, TIOCSSERIAL, &settings);
}

} // namespace stripwright
