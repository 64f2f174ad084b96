#include "listening_controller.h"

#include <cmath>
#include <cstring>
#include <ctime>
#include <poll.h>
#include <stdexcept>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright::test {

double monotonicMs()
{
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return 1e3 * static_cast<double>(now.tv_sec) + 1e-6 * static_cast<double>(now.tv_nsec);
}

ListeningController::ListeningController()
{
    server_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, qPrintable(socketPath()), sizeof address.sun_path - 1);
    if (bind(server_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0 ||
        listen(server_, 8) != 0)
        throw std::runtime_error("cannot listen on " + socketPath().toStdString());
    thread_ = std::thread([this] { serve(); });
}

ListeningController::~ListeningController()
{
    ends_ = true;
    thread_.join();
    for (const auto& [peer, text] : peers_)
        close(peer);
    close(server_);
}

double ListeningController::stopAfter(double sinceMs) const
{
    const std::lock_guard lock(guard_);
    for (const double at : stopsMs_)
        if (at >= sinceMs)
            return at;
    return 0;
}

void ListeningController::tell(int peer, const Message& message)
{
    const std::string line = encode(message);
    for (size_t sent = 0; sent < line.size();) {
        const ssize_t n = send(peer, line.data() + sent, line.size() - sent, MSG_NOSIGNAL);
        if (n <= 0)
            return;
        sent += static_cast<size_t>(n);
    }
}

void ListeningController::take(const std::string& line)
{
    std::string why;
    const auto message = decode(line, why);
    if (!message)
        return;
    if (std::holds_alternative<StartRun>(*message)) {
        runs_ = heating_ = true;
        const long backlog = backlog_;
        for (const auto& [peer, text] : peers_)
            for (long i = 0; i < backlog; ++i)
                tell(peer, Sample{.seq = i + 1,
                                  .timeS = 0.1 * double(i),
                                  .profileS = 0.01 * double(i),
                                  .sensorC = 100 + 40 * std::sin(0.001 * double(i)),
                                  .referenceC = 100,
                                  .expectedC = 100,
                                  .duty = 0.5,
                                  .jointLowC = 90,
                                  .jointNominalC = 95 + 30 * std::sin(0.001 * double(i)),
                                  .jointHighC = 130});
        seq_ = backlog;
    } else if (const auto* stop = std::get_if<StopHeating>(&*message)) {
        const std::lock_guard lock(guard_);
        stopsMs_.push_back(monotonicMs());
        stopId_ = stop->id;
    }
}

void ListeningController::serve()
{
    double saidMs = 0;
    while (!ends_) {
        std::vector<pollfd> waits{{server_, POLLIN, 0}};
        for (const auto& [peer, text] : peers_)
            waits.push_back({peer, POLLIN, 0});
        poll(waits.data(), waits.size(), 5);
        if (waits[0].revents & POLLIN)
            peers_[accept4(server_, nullptr, nullptr, SOCK_CLOEXEC)];
        for (const pollfd& one : waits) {
            if (one.fd == server_ || !one.revents)
                continue;
            char bytes[4096];
            const ssize_t n = recv(one.fd, bytes, sizeof bytes, 0);
            if (n <= 0) {
                close(one.fd);
                peers_.erase(one.fd);
                continue;
            }
            std::string& text = peers_[one.fd];
            text.append(bytes, static_cast<size_t>(n));
            for (size_t end; (end = text.find('\n')) != std::string::npos; text.erase(0, end + 1))
                take(text.substr(0, end));
        }
        if (monotonicMs() - saidMs < 100)
            continue;
        saidMs = monotonicMs();
        Status status{.state = runs_ ? RunState::Running : RunState::Idle,
                      .heater = heating_ ? HeaterState::On : HeaterState::OffConfirmed,
                      .link = LinkState::Up,
                      .sensorC = runs_ ? 151.0 : 23.0,
                      .timeS = 0.1 * double(seq_),
                      .profileS = 0.01 * double(seq_),
                      .endS = 900};
        status.stopTaken = stopId_;
        for (const auto& [peer, text] : peers_) {
            if (runs_)
                tell(peer, Sample{.seq = seq_ + 1,
                                  .timeS = 0.1 * double(seq_),
                                  .profileS = 0.01 * double(seq_),
                                  .sensorC = 151,
                                  .referenceC = 150,
                                  .expectedC = 150,
                                  .duty = 0.5,
                                  .jointLowC = 140,
                                  .jointNominalC = 145,
                                  .jointHighC = 149});
            tell(peer, status);
            tell(peer, Heartbeat{});
        }
        ++seq_;
    }
}

} // namespace stripwright::test
