#include "commands/controller_line.h"

#include <cerrno>
#include <cstring>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright {

ControllerLine::ControllerLine(const std::string& socketPath)
{
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    if (socketPath.empty() || socketPath.size() >= sizeof address.sun_path)
        return;
    std::memcpy(address.sun_path, socketPath.c_str(), socketPath.size() + 1);
    socket_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (socket_ >= 0 && connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
        hangUp();
}

ControllerLine::~ControllerLine()
{
    hangUp();
}

void ControllerLine::hangUp()
{
    if (socket_ >= 0)
        close(socket_);
    socket_ = -1;
}

// A socket that does not take so short a line at once is read by nobody.
void ControllerLine::say(const Message& message)
{
    const std::string line = encode(message);
    if (socket_ >= 0 &&
        send(socket_, line.data(), line.size(), MSG_NOSIGNAL) != static_cast<ssize_t>(line.size()))
        hangUp();
}

std::optional<Status> ControllerLine::hearStatus(std::chrono::steady_clock::time_point until)
{
    using namespace std::chrono;
    for (;;) {
        for (size_t end; (end = heard_.find('\n')) != std::string::npos;) {
            std::string why;
            const auto message = decode(heard_.substr(0, end), why);
            heard_.erase(0, end + 1);
            if (message && std::holds_alternative<Status>(*message))
                return std::get<Status>(*message);
        }
        const auto leftMs = duration_cast<milliseconds>(until - steady_clock::now()).count();
        if (socket_ < 0 || leftMs <= 0)
            return {};
        pollfd ready{socket_, POLLIN, 0};
        poll(&ready, 1, static_cast<int>(leftMs));
        char bytes[16384];
        const ssize_t count = read(socket_, bytes, sizeof bytes);
        if (count > 0)
            heard_.append(bytes, static_cast<size_t>(count));
        if (count == 0 || (count < 0 && errno != EAGAIN && errno != EINTR) ||
            heard_.size() > longestMessageBytes)
            hangUp();
    }
}

} // namespace stripwright
