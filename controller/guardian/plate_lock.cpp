#include "guardian/plate_lock.h"

#include "link/tcp_host.h"

#include <algorithm>
#include <cerrno>
#include <cstddef>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <pwd.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright {

static constexpr double lookUpS = 3;

static std::string plain(const std::string& address)
{
    const std::string mapped = "::ffff:";
    if (address.starts_with(mapped) && address.find('.') != std::string::npos)
        return address.substr(mapped.size());
    return address == "0.0.0.0" ? "127.0.0.1" : address == "::" ? "::1" : address; // leads to this computer
}

static std::string nameOfDevice(const std::string& device)
{
    struct stat found {};
    if (stat(device.c_str(), &found) == 0 && S_ISCHR(found.st_mode))
        return "tty-" + std::to_string(major(found.st_rdev)) + "-" + std::to_string(minor(found.st_rdev));
    std::error_code none;
    const auto path = std::filesystem::weakly_canonical(device, none);
    const std::string name = none ? device : path.string();
    return name.substr(name.size() - std::min<size_t>(name.size(), 80));
}

// Sorted, so that of two controllers that come at the same time one gets them all.
static std::vector<std::string> lineNames(const PlateLink& link, const std::vector<std::string>& addresses)
{
    if (link.serial)
        return {nameOfDevice(link.serial->device)};
    std::vector<std::string> names;
    for (const std::string& address : addresses)
        names.push_back(plain(address) + "-" + std::to_string(link.port));
    std::ranges::sort(names);
    names.erase(std::unique(names.begin(), names.end()), names.end());
    return names;
}

namespace {

/// A name in the kernel, of the whole computer and no file: nobody's rights stand in its way, and it is gone
/// with the last process that holds it.
struct AbstractName {
    sockaddr_un address{};
    socklen_t size = 0;

    explicit AbstractName(const std::string& line)
    {
        const std::string name = "stripwright-plate-" + line;
        address.sun_family = AF_UNIX;
        const size_t length = std::min(name.size(), sizeof address.sun_path - 1);
        std::memcpy(address.sun_path + 1, name.data(), length);
        size = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + length);
    }
    const sockaddr* get() const { return reinterpret_cast<const sockaddr*>(&address); }
};

} // namespace

static int newSocket()
{
    const int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (fd < 0)
        throw LinkError(std::string("the plate's lock cannot be taken: ") + std::strerror(errno));
    return fd;
}

static std::string programOf(pid_t pid)
{
    std::ifstream in("/proc/" + std::to_string(pid) + "/cmdline");
    std::string first;
    std::getline(in, first, '\0');
    return std::filesystem::path(first).filename().string();
}

static std::string userOf(uid_t uid)
{
    const passwd* user = getpwuid(uid);
    return user ? user->pw_name : std::to_string(uid);
}

static std::string holder(const AbstractName& name)
{
    const int fd = newSocket();
    ucred who{};
    socklen_t size = sizeof who;
    const bool known = connect(fd, name.get(), name.size) == 0 &&
                       getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &who, &size) == 0 && who.pid > 0;
    close(fd);
    if (!known)
        return "another controller"; // it has just ended, or was asked too often
    const std::string program = programOf(who.pid);
    return "another controller, process " + std::to_string(who.pid) +
           (program.empty() ? "" : " (" + program + ")") + " of user " + userOf(who.uid) + ",";
}

PlateLock::PlateLock(const PlateLink& link)
{
    if (!link.serial)
        addresses_ = addressesOf(link.host, link.port, lookUpS);
    for (const std::string& line : lineNames(link, addresses_)) {
        const AbstractName name(line);
        sockets_.push_back(newSocket());
        if (bind(sockets_.back(), name.get(), name.size) == 0)
            continue;
        const bool inUse = errno == EADDRINUSE;
        const std::string why = std::strerror(errno);
        release();
        if (inUse)
            throw PlateInUse(holder(name) + " drives the plate at " + placeOf(link) +
                             "; \"stripwright running\" says what it does, \"stripwright stop\" ends it");
        throw LinkError("the plate's lock cannot be taken: " + why);
    }
    holdInThisProcess();
}

PlateLock::~PlateLock()
{
    release();
}

void PlateLock::release()
{
    for (int fd : sockets_)
        close(fd);
    sockets_.clear();
}

void PlateLock::holdInThisProcess() const
{
    for (int fd : sockets_)
        listen(fd, SOMAXCONN); // who listened last is who is named to one that connects
}

} // namespace stripwright
