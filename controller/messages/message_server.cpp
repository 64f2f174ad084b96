#include "messages/message_server.h"

#include <cerrno>
#include <cstring>
#include <map>
#include <poll.h>
#include <stdexcept>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright {

static constexpr size_t longestBacklogBytes = 8u << 20;

struct Client {
    std::string in, out;
    bool gone = false;
};

struct MessageServer::Work {
    std::filesystem::path path;
    int listening = -1;
    std::map<int, Client> clients; // by file descriptor
    std::vector<int> joined;

    void accept();
    void read(int fd, Client& client, std::vector<Received>& received);
    static void flush(int fd, Client& client);
    void queue(int fd, Client& client, const std::string& line);
    void dropGone();
};

static sockaddr_un addressOf(const std::filesystem::path& path)
{
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    const std::string name = path.string();
    if (name.size() >= sizeof address.sun_path)
        throw std::runtime_error(name + ": found a socket path of " + std::to_string(name.size()) +
                                 " characters, expected at most " +
                                 std::to_string(sizeof address.sun_path - 1));
    std::memcpy(address.sun_path, name.c_str(), name.size() + 1);
    return address;
}

static bool somebodyListens(const sockaddr_un& address)
{
    const int probe = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    const bool answered = connect(probe, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
    close(probe);
    return answered;
}

MessageServer::MessageServer(const std::filesystem::path& socketPath) : work_(std::make_unique<Work>())
{
    const sockaddr_un address = addressOf(socketPath);
    if (somebodyListens(address))
        throw std::runtime_error(socketPath.string() +
                                 ": another controller listens there; end it or name another socket");
    struct stat found {};
    if (lstat(socketPath.c_str(), &found) == 0 && S_ISSOCK(found.st_mode))
        unlink(socketPath.c_str()); // left by one that died
    work_->listening = socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    const mode_t before = umask(0177);
    const int bound = bind(work_->listening, reinterpret_cast<const sockaddr*>(&address), sizeof address);
    const int error = errno;
    umask(before);
    if (bound != 0 || listen(work_->listening, 8) != 0) {
        close(work_->listening);
        throw std::runtime_error(socketPath.string() + ": cannot be made (" + std::strerror(error) +
                                 "); choose a folder that this user may write to");
    }
    work_->path = socketPath;
}

MessageServer::~MessageServer()
{
    for (auto& [fd, client] : work_->clients) {
        Work::flush(fd, client);
        close(fd);
    }
    close(work_->listening);
    unlink(work_->path.c_str());
}

void MessageServer::Work::accept()
{
    for (;;) {
        const int fd = accept4(listening, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
        if (fd < 0)
            return;
        clients[fd];
        joined.push_back(fd);
    }
}

void MessageServer::Work::flush(int fd, Client& client)
{
    while (!client.out.empty()) {
        const ssize_t sent = ::send(fd, client.out.data(), client.out.size(), MSG_NOSIGNAL);
        if (sent <= 0) {
            client.gone = client.gone || (errno != EAGAIN && errno != EINTR);
            return;
        }
        client.out.erase(0, static_cast<size_t>(sent));
    }
}

void MessageServer::Work::queue(int fd, Client& client, const std::string& line)
{
    if (client.out.size() + line.size() > longestBacklogBytes)
        client.gone = true;
    else
        client.out += line;
    flush(fd, client);
}

void MessageServer::Work::read(int fd, Client& client, std::vector<Received>& received)
{
    char bytes[65536];
    const ssize_t count = recv(fd, bytes, sizeof bytes, 0);
    if (count == 0 || (count < 0 && errno != EAGAIN && errno != EINTR))
        client.gone = true;
    if (count <= 0)
        return;
    // Only what is new can hold the end of a line: a long plan must not be searched again for every piece.
    size_t searched = client.in.size();
    client.in.append(bytes, static_cast<size_t>(count));
    size_t start = 0;
    for (size_t end; (end = client.in.find('\n', std::max(searched, start))) != std::string::npos;
         start = end + 1) {
        std::string why;
        if (auto message = decode(client.in.substr(start, end - start), why))
            received.push_back({fd, std::move(*message)});
        else
            queue(fd, client, encode(Refused{why}));
    }
    client.in.erase(0, start);
    if (client.in.size() > longestMessageBytes) {
        queue(fd, client,
              encode(Refused{"message: found a line of more than " + std::to_string(longestMessageBytes) +
                             " bytes; the connection is closed"}));
        client.gone = true;
    }
}

void MessageServer::Work::dropGone()
{
    for (auto client = clients.begin(); client != clients.end();) {
        if (client->second.gone) {
            close(client->first);
            client = clients.erase(client);
        } else {
            ++client;
        }
    }
}

std::vector<MessageServer::Received> MessageServer::receive(int timeoutMs)
{
    work_->dropGone();
    std::vector<pollfd> watched{{work_->listening, POLLIN, 0}};
    for (const auto& [fd, client] : work_->clients)
        watched.push_back({fd, static_cast<short>(POLLIN | (client.out.empty() ? 0 : POLLOUT)), 0});
    std::vector<Received> received;
    if (poll(watched.data(), watched.size(), timeoutMs) <= 0)
        return received;
    for (const pollfd& ready : watched) {
        if (ready.fd == work_->listening || !ready.revents)
            continue;
        Client& client = work_->clients.at(ready.fd);
        if (ready.revents & POLLOUT)
            Work::flush(ready.fd, client);
        if (ready.revents & (POLLIN | POLLHUP | POLLERR))
            work_->read(ready.fd, client, received);
    }
    if (watched.front().revents)
        work_->accept();
    return received;
}

void MessageServer::send(int client, const Message& message)
{
    if (auto found = work_->clients.find(client); found != work_->clients.end())
        work_->queue(client, found->second, encode(message));
}

void MessageServer::sendAll(const Message& message)
{
    if (work_->clients.empty())
        return;
    const std::string line = encode(message);
    for (auto& [fd, client] : work_->clients)
        work_->queue(fd, client, line);
}

std::vector<int> MessageServer::newClients()
{
    return std::exchange(work_->joined, {});
}

} // namespace stripwright
