#pragma once

#include "bench/rtu_frame.h"

#include <chrono>
#include <fcntl.h>
#include <poll.h>
#include <string>
#include <termios.h>
#include <unistd.h>
#include <vector>

namespace stripwright {

using Bytes = std::vector<std::uint8_t>;

/// The other end of a serial line, byte by byte.
class RtuClient {
public:
    explicit RtuClient(const std::string& tty) : fd_(::open(tty.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC))
    {
        termios line{};
        tcgetattr(fd_, &line);
        cfmakeraw(&line);
        tcsetattr(fd_, TCSANOW, &line);
    }
    ~RtuClient() { ::close(fd_); }
    RtuClient(const RtuClient&) = delete;

    void send(const Bytes& bytes)
    {
        [[maybe_unused]] const ssize_t sent = ::write(fd_, bytes.data(), bytes.size());
    }

    /// Bytes until `count` have come or nothing came for `quietS`.
    Bytes receive(size_t count, double quietS = 2)
    {
        Bytes bytes;
        pollfd wait{fd_, POLLIN, 0};
        while (bytes.size() < count && ::poll(&wait, 1, static_cast<int>(quietS * 1000)) > 0) {
            std::uint8_t lump[300];
            const ssize_t got = ::read(fd_, lump, std::min(sizeof lump, count - bytes.size()));
            if (got <= 0)
                break;
            if (bytes.empty())
                firstByte = std::chrono::steady_clock::now();
            bytes.insert(bytes.end(), lump, lump + got);
        }
        return bytes;
    }

    /// The answer to a request, which `size` bytes are expected of.
    Bytes ask(int unit, const Bytes& pdu, size_t size, double quietS = 2)
    {
        send(rtuFrame(unit, pdu));
        return receive(size, quietS);
    }

    std::chrono::steady_clock::time_point firstByte;

private:
    int fd_;
};

} // namespace stripwright
