#include "bench/serial_end.h"

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <stdexcept>
#include <termios.h>
#include <unistd.h>

namespace stripwright {

namespace fs = std::filesystem;

// The spelling tells a link that a plate made from one that leads to somebody's terminal of the same number.
static const std::string ptsFolder = "/dev/pts/", ownSpelling = "/dev/pts/./";

static const std::vector<std::pair<int, speed_t>> speeds = {
    {1200, B1200},   {2400, B2400},   {4800, B4800},   {9600, B9600},
    {19200, B19200}, {38400, B38400}, {57600, B57600}, {115200, B115200}};

const std::vector<int>& serialEndBauds()
{
    static const std::vector<int> bauds = [] {
        std::vector<int> all;
        for (const auto& [baud, speed] : speeds)
            all.push_back(baud);
        return all;
    }();
    return bauds;
}

static std::runtime_error failure(const std::string& path, const std::string& what)
{
    return std::runtime_error(path + ": " + what);
}

static bool setLine(int fd, int baud, SerialFrame frame)
{
    termios line{};
    if (tcgetattr(fd, &line) != 0)
        return false;
    cfmakeraw(&line);
    line.c_cflag |= CREAD | CLOCAL;
    if (frame == SerialFrame::F8N2)
        line.c_cflag |= CSTOPB;
    if (frame == SerialFrame::F8E1 || frame == SerialFrame::F8O1)
        line.c_cflag |= frame == SerialFrame::F8O1 ? PARENB | PARODD : PARENB;
    line.c_cc[VMIN] = 0;
    line.c_cc[VTIME] = 0;
    const auto found =
        std::find_if(speeds.begin(), speeds.end(), [&](const auto& one) { return one.first == baud; });
    return found != speeds.end() && cfsetspeed(&line, found->second) == 0 &&
           tcsetattr(fd, TCSANOW, &line) == 0;
}

// A plate holds a record lock on the client's end of its pseudo-terminal, which neither outlives it nor
// stands in the way of the flock by which clients keep each other out.
static bool lockRecord(int fd, bool set)
{
    struct flock lock {};
    lock.l_type = F_WRLCK;
    lock.l_whence = SEEK_SET;
    if (set)
        return fcntl(fd, F_OFD_SETLK, &lock) == 0;
    return fcntl(fd, F_OFD_GETLK, &lock) == 0 && lock.l_type != F_UNLCK;
}

static bool isServedByAPlate(const std::string& path)
{
    const int fd = ::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0)
        return errno == EBUSY; // a client has it for itself
    const bool served = lockRecord(fd, false);
    ::close(fd);
    return served;
}

SerialEnd::SerialEnd(const std::string& path, int baud, SerialFrame frame)
    : path_(path), baud_(baud), frame_(frame)
{
    std::error_code error;
    const fs::path leadsTo = fs::is_symlink(path, error) ? fs::read_symlink(path, error) : fs::path();
    const bool ours = leadsTo.string().starts_with(ownSpelling);
    if (fs::exists(path, error)) {
        if (isServedByAPlate(path))
            throw failure(path,
                          "another simulated plate is at work there; take another path, or end that one");
        if (!ours) {
            openTerminal(baud, frame);
            return;
        }
    } else if (!leadsTo.empty() && !leadsTo.string().starts_with(ptsFolder)) {
        throw failure(path, "is a link to " + leadsTo.string() +
                                ", which is not there; plug the adapter in, or take another path");
    }
    if (!leadsTo.empty())
        fs::remove(path, error);
    makePseudo();
}

SerialEnd::~SerialEnd()
{
    hangUp();
}

void SerialEnd::hangUp()
{
    std::error_code error;
    if (isPseudo() && fs::read_symlink(path_, error) == target_)
        fs::remove(path_, error);
    for (int* end : {&clientEnd_, &fd_}) {
        if (*end >= 0)
            ::close(*end);
        *end = -1;
    }
}

void SerialEnd::openTerminal(int baud, SerialFrame frame)
{
    fd_ = ::open(path_.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (fd_ < 0)
        throw failure(path_, std::string("cannot be opened: ") + std::strerror(errno));
    std::string why;
    if (!isatty(fd_))
        why = "is there and is no serial port; name a serial port, or a path that is not there yet";
    else if (!setLine(fd_, baud, frame))
        why = std::string("does not take this speed and frame: ") + std::strerror(errno);
    if (!why.empty()) {
        ::close(fd_);
        throw failure(path_, why);
    }
    tcflush(fd_, TCIOFLUSH);
}

void SerialEnd::makePseudo()
{
    fd_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    char name[64] = "";
    if (fd_ >= 0 && grantpt(fd_) == 0 && unlockpt(fd_) == 0 && ptsname_r(fd_, name, sizeof name) == 0)
        clientEnd_ = ::open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (frame_ == SerialFrame::F8E1 || frame_ == SerialFrame::F8O1)
        frame_ = SerialFrame::F8N2;
    std::string why;
    if (clientEnd_ < 0 || !setLine(clientEnd_, baud_, frame_) || !lockRecord(clientEnd_, true)) {
        why = std::string("no pseudo-terminal can be made: ") + std::strerror(errno);
    } else {
        target_ = ownSpelling + fs::path(name).filename().string();
        std::error_code error;
        fs::create_symlink(target_, path_, error);
        if (!error)
            return;
        why = "the link cannot be made: " + error.message() + "; check the folder";
    }
    if (clientEnd_ >= 0)
        ::close(clientEnd_);
    if (fd_ >= 0)
        ::close(fd_);
    throw failure(path_, why);
}

SerialLine SerialEnd::line() const
{
    SerialLine line;
    line.device = fs::absolute(path_).string();
    line.baud = baud_;
    line.frame = frame_;
    return line;
}

} // namespace stripwright
