#include "link/tcp_exchange.h"

#include "link/line_silence.h"

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <modbus.h>
#include <poll.h>
#include <sys/socket.h>

namespace stripwright {

static constexpr size_t headerBytes = 6; // transaction, protocol, length

static int failed(int code)
{
    errno = code;
    return -1;
}

// False: not ready in time.
static bool readyFor(int socket, short events, double deadlineS)
{
    for (;;) {
        const double leftS = deadlineS - monotonicS();
        if (leftS <= 0)
            return false;
        pollfd wait{socket, events, 0};
        const int ready = ::poll(&wait, 1, static_cast<int>(std::ceil(1000 * leftS)));
        if (ready > 0)
            return true;
        if (ready < 0 && errno != EINTR)
            return true; // the call that follows says why
    }
}

static bool sendAll(int socket, const std::uint8_t* bytes, size_t count, double deadlineS)
{
    for (size_t sent = 0; sent < count;) {
        const ssize_t done = ::send(socket, bytes + sent, count - sent, MSG_NOSIGNAL | MSG_DONTWAIT);
        if (done > 0)
            sent += static_cast<size_t>(done);
        else if (errno != EINTR && errno != EAGAIN)
            return false;
        else if (!readyFor(socket, POLLOUT, deadlineS))
            return failed(ETIMEDOUT) == 0;
    }
    return true;
}

static bool receiveAll(int socket, std::uint8_t* bytes, size_t count, double deadlineS)
{
    for (size_t got = 0; got < count;) {
        if (!readyFor(socket, POLLIN, deadlineS))
            return failed(ETIMEDOUT) == 0;
        const ssize_t done = ::recv(socket, bytes + got, count - got, MSG_DONTWAIT);
        if (done == 0)
            return failed(ECONNRESET) == 0;
        if (done > 0)
            got += static_cast<size_t>(done);
        else if (errno != EINTR && errno != EAGAIN)
            return false;
    }
    return true;
}

int exchangeOverTcp(int socket, std::uint16_t transaction, const std::uint8_t* request, size_t length,
                    std::uint8_t (&answer)[254], double timeoutS)
{
    const double deadlineS = monotonicS() + timeoutS;
    const auto high = [](size_t word) { return static_cast<std::uint8_t>(word >> 8); };
    const auto low = [](size_t word) { return static_cast<std::uint8_t>(word); };
    std::uint8_t frame[headerBytes + MODBUS_MAX_ADU_LENGTH] = {high(transaction), low(transaction), 0, 0,
                                                               high(length),      low(length)};
    if (length > MODBUS_MAX_ADU_LENGTH)
        return failed(EMBMDATA);
    std::copy(request, request + length, frame + headerBytes);
    if (!sendAll(socket, frame, headerBytes + length, deadlineS))
        return -1;
    std::uint8_t header[headerBytes];
    if (!receiveAll(socket, header, headerBytes, deadlineS))
        return -1;
    const size_t count = static_cast<size_t>(header[4] << 8 | header[5]);
    const bool fits = std::equal(header, header + 4, frame) && count >= 3 && count <= sizeof answer;
    if (!fits)
        return failed(EMBBADDATA);
    if (!receiveAll(socket, answer, count, deadlineS))
        return -1;
    if (answer[0] != request[0])
        return failed(EMBBADSLAVE);
    return static_cast<int>(count);
}

} // namespace stripwright
