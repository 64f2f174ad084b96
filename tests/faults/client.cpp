#include "client.h"

#include "child_program.h"

#include <cstring>
#include <poll.h>
#include <stdexcept>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright::faults {

Client::Client(const std::filesystem::path& path) : socket_(socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0))
{
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, path.c_str(), sizeof address.sun_path - 1);
    if (connect(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0)
        throw std::runtime_error("the controller's socket takes no connection");
}

void Client::leave()
{
    if (socket_ >= 0)
        close(socket_);
    socket_ = -1;
    closed = true;
}

void Client::sendLine(const std::string& line, double patienceS)
{
    for (size_t sent = 0; socket_ >= 0 && sent < line.size();) {
        pollfd wait{socket_, POLLOUT, 0};
        if (poll(&wait, 1, static_cast<int>(1000 * patienceS)) <= 0)
            return;
        const ssize_t count =
            ::send(socket_, line.data() + sent, line.size() - sent, MSG_NOSIGNAL | MSG_DONTWAIT);
        if (count <= 0)
            return;
        sent += static_cast<size_t>(count);
    }
}

bool Client::until(const std::function<bool()>& done, double patienceS)
{
    return waitFor(
        [&] {
            if (!silent)
                listen();
            return done();
        },
        patienceS);
}

void Client::listen()
{
    pollfd watched{socket_, POLLIN, 0};
    while (!closed && poll(&watched, 1, 0) > 0) {
        char bytes[65536];
        const ssize_t count = recv(socket_, bytes, sizeof bytes, 0);
        closed = count <= 0;
        if (!closed)
            waiting_.append(bytes, static_cast<size_t>(count));
    }
    size_t start = 0;
    for (size_t end; (end = waiting_.find('\n', start)) != std::string::npos; start = end + 1) {
        std::string why;
        if (const auto message = decode(waiting_.substr(start, end - start), why))
            take(*message);
    }
    waiting_.erase(0, start);
}

void Client::take(const Message& message)
{
    if (const auto* event = std::get_if<Event>(&message))
        events.push_back({nowS(), *event});
    if (const auto* refused = std::get_if<Refused>(&message))
        refusals.push_back(refused->why);
    if (const auto* now = std::get_if<Status>(&message)) {
        if (now->state == RunState::Starting && !now->card.empty() && now->card != status.card)
            send(ConfirmCard{now->card});
        status = *now;
    }
    if (std::holds_alternative<Heartbeat>(message))
        send(Heartbeat{});
}

} // namespace stripwright::faults
