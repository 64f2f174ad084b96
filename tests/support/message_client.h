#pragma once

#include "messages/messages.h"

#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>
#include <functional>
#include <poll.h>
#include <stdexcept>
#include <string>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>
#include <vector>

namespace stripwright::test {

/// The other end of a message server: keeps all it hears.
class MessageClient {
public:
    explicit MessageClient(const std::filesystem::path& path)
    {
        socket_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_un address{};
        address.sun_family = AF_UNIX;
        std::strcpy(address.sun_path, path.c_str());
        if (connect(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0)
            throw std::runtime_error("no server at " + path.string());
    }
    ~MessageClient() { close(socket_); }
    MessageClient(const MessageClient&) = delete;
    MessageClient& operator=(const MessageClient&) = delete;

    bool send(const Message& message) { return sendBytes(encode(message)); }
    /// False once the other end is closed.
    bool sendBytes(const std::string& bytes)
    {
        for (size_t sent = 0; sent < bytes.size();) {
            const ssize_t now = ::send(socket_, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
            if (now < 0)
                return false;
            sent += size_t(now);
        }
        return true;
    }
    /// As much as is taken without waiting.
    void floodWith(const std::string& bytes)
    {
        ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
    }

    /// Listens until this is true; false after `patienceS`.
    bool until(const std::function<bool()>& done, double patienceS = 20)
    {
        const auto end = std::chrono::steady_clock::now() + std::chrono::duration<double>(patienceS);
        for (;;) {
            if (done())
                return true;
            const bool last = std::chrono::steady_clock::now() > end;
            listen(last ? 0 : 5);
            if (last)
                return done();
        }
    }
    bool refusedWith(const std::string& words, double patienceS = 20)
    {
        return until(
            [&] {
                for (const std::string& why : refusals)
                    if (why.find(words) != std::string::npos)
                        return true;
                return false;
            },
            patienceS);
    }
    bool heard(const std::string& words) const
    {
        for (const Event& event : events)
            if (event.text.find(words) != std::string::npos)
                return true;
        return false;
    }

    std::vector<Status> statuses;
    std::vector<Event> events;
    std::vector<std::string> refusals;
    bool closed = false;

    Status status() const { return statuses.empty() ? Status{} : statuses.back(); }
    bool answered(long stopId) const
    {
        for (const Status& status : statuses)
            if (status.stopTaken == stopId)
                return true;
        return false;
    }

private:
    void listen(int timeoutMs)
    {
        pollfd watched{socket_, POLLIN, 0};
        if (closed || poll(&watched, 1, timeoutMs) <= 0)
            return;
        char bytes[65536];
        const ssize_t got = recv(socket_, bytes, sizeof bytes, MSG_DONTWAIT);
        closed = got == 0 || (got < 0 && errno != EAGAIN);
        if (got <= 0)
            return;
        waiting_.append(bytes, size_t(got));
        size_t start = 0;
        for (size_t end; (end = waiting_.find('\n', start)) != std::string::npos; start = end + 1)
            keep(waiting_.substr(start, end - start));
        waiting_.erase(0, start);
    }
    void keep(const std::string& line)
    {
        std::string why;
        const auto message = decode(line, why);
        if (!message)
            refusals.push_back("not understood: " + why);
        else if (auto* event = std::get_if<Event>(&*message))
            events.push_back(*event);
        else if (auto* refused = std::get_if<Refused>(&*message))
            refusals.push_back(refused->why);
        else if (auto* now = std::get_if<Status>(&*message))
            statuses.push_back(*now);
    }

    int socket_;
    std::string waiting_;
};

} // namespace stripwright::test
