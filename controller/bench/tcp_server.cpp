#include "bench/tcp_server.h"

#include <algorithm>
#include <arpa/inet.h>
#include <array>
#include <cerrno>
#include <cmath>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <system_error>
#include <unistd.h>

namespace stripwright {

constexpr size_t headerBytes = 7; // transaction, protocol, length, unit
constexpr size_t longestFrame = 260;
constexpr size_t mostClients = 16;

struct TcpServer::Client {
    struct Late {
        double dueS;
        std::vector<std::uint8_t> frame;
    };
    int fd = -1;
    std::array<std::uint8_t, longestFrame> buffer{};
    size_t filled = 0;
    std::vector<Late> late;

    explicit Client(int of) : fd(of) {}
    ~Client() { ::close(fd); }

    // False: gone, or so far behind in reading that its buffer is full.
    bool send(const std::vector<std::uint8_t>& frame) const
    {
        return ::send(fd, frame.data(), frame.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(frame.size());
    }
};

static int word(const std::uint8_t* bytes)
{
    return bytes[0] << 8 | bytes[1];
}

TcpServer::TcpServer(RegisterDevice& device, int port) : device_(device)
{
    listening_ = ::socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    const int on = 1;
    setsockopt(listening_, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    sockaddr_in bound{};
    bound.sin_family = AF_INET;
    bound.sin_port = htons(static_cast<std::uint16_t>(port));
    bound.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof bound;
    if (listening_ < 0 || ::bind(listening_, reinterpret_cast<sockaddr*>(&bound), size) != 0 ||
        ::listen(listening_, 8) != 0 ||
        ::getsockname(listening_, reinterpret_cast<sockaddr*>(&bound), &size) != 0) {
        const int code = errno;
        if (listening_ >= 0)
            ::close(listening_);
        throw std::system_error(code, std::generic_category());
    }
    port_ = ntohs(bound.sin_port);
}

TcpServer::~TcpServer()
{
    if (listening_ >= 0)
        ::close(listening_);
}

void TcpServer::putInto(PlateLink& link) const
{
    link.host = "127.0.0.1";
    link.port = port_;
}

void TcpServer::accept()
{
    for (;;) {
        const int fd = ::accept4(listening_, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
        if (fd < 0)
            return;
        if (clients_.size() == mostClients) {
            ::close(fd);
            continue;
        }
        const int on = 1;
        setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
        clients_.push_back(std::make_unique<Client>(fd));
    }
}

// False: the client is gone or speaks something else, and is dropped.
bool TcpServer::receive(Client& client)
{
    for (;;) {
        const ssize_t got =
            ::recv(client.fd, client.buffer.data() + client.filled, client.buffer.size() - client.filled, 0);
        if (got > 0) {
            client.filled += static_cast<size_t>(got);
            if (!answerAll(client))
                return false;
        } else {
            return got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR);
        }
    }
}

bool TcpServer::answerAll(Client& client)
{
    while (client.filled >= headerBytes) {
        const int protocol = word(client.buffer.data() + 2), length = word(client.buffer.data() + 4);
        if (protocol != 0 || length < 2 || static_cast<size_t>(length) + 6 > client.buffer.size())
            return false;
        const size_t whole = static_cast<size_t>(length) + 6;
        if (client.filled < whole)
            return true;
        if (!answer(client, whole))
            return false;
        std::copy(client.buffer.begin() + static_cast<long>(whole),
                  client.buffer.begin() + static_cast<long>(client.filled), client.buffer.begin());
        client.filled -= whole;
    }
    return true;
}

bool TcpServer::answer(Client& client, size_t length)
{
    const std::uint8_t* request = client.buffer.data();
    const auto answer = device_.answer(request[6], {request + headerBytes, length - headerBytes});
    if (!answer)
        return true;
    std::vector<std::uint8_t> frame = answer->junk;
    const size_t behindUnit = answer->pdu.size() + 1;
    frame.insert(frame.end(),
                 {request[0], request[1], 0, 0, static_cast<std::uint8_t>(behindUnit >> 8),
                  static_cast<std::uint8_t>(behindUnit), static_cast<std::uint8_t>(answer->unit)});
    frame.insert(frame.end(), answer->pdu.begin(), answer->pdu.end());
    if (answer->damaged)
        return true;
    if (answer->byteEveryS > 0) {
        double dueS = lineClockS();
        for (const Client::Late& late : client.late) // bytes of one answer do not get between another's
            dueS = std::max(dueS, late.dueS);
        for (const std::uint8_t byte : frame)
            client.late.push_back({dueS += answer->byteEveryS, {byte}});
        return true;
    }
    if (answer->lateS <= 0)
        return client.send(frame);
    client.late.push_back({lineClockS() + answer->lateS, std::move(frame)});
    return true;
}

bool TcpServer::sendLate(Client& client, double nowS)
{
    bool sent = true;
    std::erase_if(client.late, [&](const Client::Late& late) {
        if (late.dueS > nowS)
            return false;
        sent = client.send(late.frame) && sent;
        return true;
    });
    return sent;
}

bool TcpServer::serve(int timeoutMs, int alsoWake)
{
    if (device_.plate().has(Fault::Unplugged) && listening_ >= 0) {
        clients_.clear();
        ::close(listening_);
        listening_ = -1;
    }
    double waitMs = timeoutMs;
    std::vector<pollfd> waits = {{listening_, POLLIN, 0}, {alsoWake, POLLIN, 0}};
    for (const auto& client : clients_) {
        waits.push_back({client->fd, POLLIN, 0});
        for (const Client::Late& late : client->late)
            waitMs = std::clamp((late.dueS - lineClockS()) * 1000, 0.0, waitMs);
    }
    if (::poll(waits.data(), waits.size(), static_cast<int>(std::ceil(waitMs))) < 0)
        return false;
    for (size_t i = 2; i < waits.size(); ++i) {
        auto& client = clients_[i - 2];
        if ((waits[i].revents && !receive(*client)) || !sendLate(*client, lineClockS()))
            client.reset();
    }
    std::erase(clients_, nullptr);
    if (waits[0].revents)
        accept();
    return waits[1].revents != 0;
}

} // namespace stripwright
