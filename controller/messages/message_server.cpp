#include "messages/message_server.h"

#include "messages/client_lines.h"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <map>
#include <poll.h>
#include <set>
#include <stdexcept>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright {

using Clock = std::chrono::steady_clock;

static constexpr size_t longestBacklogBytes = 8u << 20;
// What a client may have taken of what it sent, once in each step of time: 1600 messages and 12 MiB a second.
static constexpr auto step = std::chrono::milliseconds(20);
static constexpr int messagesEachStep = 32;
static constexpr size_t bytesEachStep = 256u << 10;

struct Client {
    int number = 0; // never given twice, as a file descriptor is
    ClientLines in;
    std::string out;
    size_t sent = 0; // of out
    int messagesLeft = messagesEachStep;
    size_t bytesLeft = bytesEachStep;
    bool gone = false; // takes and sends nothing more
    bool cut = false;  // what it sent is not taken any more either

    size_t backlog() const { return out.size() - sent; }
};

struct MessageServer::Work {
    std::filesystem::path path;
    int listening = -1;
    uid_t onlyUser = 0;
    std::map<int, Client> clients; // by file descriptor
    std::vector<int> joined;
    int lastNumber = 0;
    Clock::time_point nextStep;

    int waitMs(int longestMs) const;
    void accept(std::vector<Received>& stops);
    bool ofOurUser(int fd) const;
    const char* whyNotTaken(int fd) const;
    void serveReady(const std::vector<pollfd>& watched, std::vector<Received>& received);
    void read(int fd, Client& client, std::vector<Received>& stops);
    void take(std::vector<Received>& received);
    void takeOne(int fd, Client& client, std::vector<Received>& received);
    static void flush(int fd, Client& client);
    static void queue(int fd, Client& client, const std::string& line);
    static void refuse(int fd, Client& client, const std::string& why)
    {
        queue(fd, client, encode(Refused{why}));
    }
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

MessageServer::MessageServer(const std::filesystem::path& socketPath, uid_t onlyUser)
    : work_(std::make_unique<Work>())
{
    work_->onlyUser = onlyUser;
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
    if (bound != 0 || listen(work_->listening, int(mostClients)) != 0) {
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

bool MessageServer::Work::ofOurUser(int fd) const
{
    ucred peer{};
    socklen_t size = sizeof peer;
    return getsockopt(fd, SOL_SOCKET, SO_PEERCRED, &peer, &size) == 0 && peer.uid == onlyUser;
}

const char* MessageServer::Work::whyNotTaken(int fd) const
{
    if (!ofOurUser(fd))
        return "only the user who started this controller may talk to it";
    if (clients.size() >= mostClients)
        return "16 connections of windows and terminals are open already, expected at most 16; close one of "
               "them";
    return nullptr;
}

static std::vector<StopHeating> stopsAlreadySent(int fd)
{
    char bytes[4096];
    const ssize_t count = recv(fd, bytes, sizeof bytes, MSG_DONTWAIT);
    if (count <= 0)
        return {};
    return ClientLines().take({bytes, static_cast<size_t>(count)});
}

void MessageServer::Work::accept(std::vector<Received>& stops)
{
    for (;;) {
        const int fd = accept4(listening, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
        if (fd < 0)
            return;
        if (const char* why = whyNotTaken(fd)) {
            if (ofOurUser(fd))
                for (const StopHeating& stop : stopsAlreadySent(fd)) {
                    stops.push_back({fd, stop, false});
                    for (auto& [other, client] : clients)
                        client.in.stopped();
                }
            const std::string line = encode(Refused{why});
            ::send(fd, line.data(), line.size(), MSG_NOSIGNAL);
            close(fd);
            continue;
        }
        clients[fd].number = ++lastNumber;
        joined.push_back(lastNumber);
    }
}

void MessageServer::Work::flush(int fd, Client& client)
{
    while (client.backlog() > 0) {
        const ssize_t sent = ::send(fd, client.out.data() + client.sent, client.backlog(), MSG_NOSIGNAL);
        if (sent <= 0) {
            client.gone = client.gone || (errno != EAGAIN && errno != EINTR);
            break;
        }
        client.sent += static_cast<size_t>(sent);
    }
    if (client.sent > client.out.size() / 2) { // not at every send: each moves all that waits
        client.out.erase(0, client.sent);
        client.sent = 0;
    }
}

void MessageServer::Work::queue(int fd, Client& client, const std::string& line)
{
    if (client.backlog() + line.size() > longestBacklogBytes)
        client.gone = client.cut = true;
    else if (!client.gone)
        client.out += line;
    flush(fd, client);
}

void MessageServer::Work::read(int fd, Client& client, std::vector<Received>& stops)
{
    char bytes[65536];
    const ssize_t count = recv(fd, bytes, std::min(sizeof bytes, client.bytesLeft), 0);
    if (count == 0 || (count < 0 && errno != EAGAIN && errno != EINTR))
        client.gone = true;
    if (count <= 0)
        return;
    client.bytesLeft -= static_cast<size_t>(count);
    for (const StopHeating& stop : client.in.take({bytes, static_cast<size_t>(count)}))
        stops.push_back({client.number, stop, false});
    if (client.in.begunBytes() > longestCommandBytes) {
        refuse(fd, client,
               "message: found a line of more than " + std::to_string(longestCommandBytes) +
                   " bytes; the connection is closed");
        client.gone = client.cut = true;
    } else if (client.in.tooMany()) {
        refuse(fd, client, "too many messages at once; the connection is closed");
        client.gone = client.cut = true;
    }
}

void MessageServer::Work::serveReady(const std::vector<pollfd>& watched, std::vector<Received>& received)
{
    std::set<int> stopping;
    for (const pollfd& ready : watched) {
        if (ready.fd == listening || !ready.revents)
            continue;
        Client& client = clients.at(ready.fd);
        if (ready.revents & POLLOUT)
            flush(ready.fd, client);
        const size_t stopsBefore = received.size();
        if (ready.revents & (POLLIN | POLLHUP | POLLERR) && client.bytesLeft > 0)
            read(ready.fd, client, received);
        if (received.size() > stopsBefore)
            stopping.insert(ready.fd);
    }
    if (!stopping.empty()) // what others sent meanwhile may have been sent before
        for (auto& [fd, client] : clients)
            if (!stopping.contains(fd))
                client.in.stopped();
    if (watched.front().revents)
        accept(received);
}

void MessageServer::Work::takeOne(int fd, Client& client, std::vector<Received>& received)
{
    const ClientLines::Line line = client.in.next();
    --client.messagesLeft;
    std::string why;
    if (auto message = decode(line.text, why))
        received.push_back({client.number, std::move(*message), line.stoppedSince});
    else
        refuse(fd, client, why);
}

void MessageServer::Work::take(std::vector<Received>& received)
{
    constexpr size_t manyBytes = 64u << 10;
    bool longTaken = false; // a long one takes its time: no more than one in a turn
    for (auto& [fd, client] : clients)
        for (size_t bytes = 0; !client.in.empty() && client.messagesLeft > 0 && bytes < manyBytes;) {
            bytes += client.in.nextBytes();
            if (client.in.nextBytes() > manyBytes && std::exchange(longTaken, true))
                break;
            takeOne(fd, client, received);
        }
}

int MessageServer::Work::waitMs(int longestMs) const
{
    const bool linesWait = std::ranges::any_of(clients, [](const auto& entry) {
        const Client& client = entry.second;
        return !client.in.empty() || client.bytesLeft == 0;
    });
    if (!linesWait)
        return longestMs;
    const auto left = std::chrono::ceil<std::chrono::milliseconds>(nextStep - Clock::now());
    return std::clamp(static_cast<int>(left.count()), 0, longestMs);
}

void MessageServer::Work::dropGone()
{
    for (auto client = clients.begin(); client != clients.end();) {
        if (client->second.gone && (client->second.cut || client->second.in.empty())) {
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
    for (const auto& [fd, client] : work_->clients) {
        const int events = (client.bytesLeft > 0 ? POLLIN : 0) | (client.backlog() > 0 ? POLLOUT : 0);
        if (events && !client.gone)
            watched.push_back({fd, static_cast<short>(events), 0});
    }
    std::vector<Received> received;
    const int ready = poll(watched.data(), watched.size(), work_->waitMs(timeoutMs));
    if (Clock::now() >= work_->nextStep) {
        work_->nextStep = Clock::now() + step;
        for (auto& [fd, client] : work_->clients) {
            client.messagesLeft = messagesEachStep;
            client.bytesLeft = bytesEachStep;
        }
    }
    if (ready > 0)
        work_->serveReady(watched, received);
    work_->take(received);
    return received;
}

void MessageServer::send(int client, const Message& message)
{
    for (auto& [fd, found] : work_->clients)
        if (found.number == client)
            return work_->queue(fd, found, encode(message));
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
