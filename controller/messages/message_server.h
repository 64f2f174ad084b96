#pragma once

#include "messages/messages.h"

#include <filesystem>
#include <memory>
#include <sys/types.h>
#include <unistd.h>

namespace stripwright {

/// A local stream socket, mode 0600, over which several clients exchange messages, one JSON object a line.
/// One thread.
///
/// At most mostClients, all of one user; who comes beyond is told why and closed, with its stop taken if it
/// is there. Each client's messages are taken a few at a time, so that none can hold up another's. A line
/// that is no message is answered with Refused. A client is dropped that sends a line of more than 2 MiB,
/// sends so fast that 1000 messages or 1 MiB beside one message wait to be taken, or does not read until 8
/// MiB wait for it.
class MessageServer {
public:
    static constexpr size_t mostClients = 16; ///< A window takes two.

    /// Takes over the path of a server that died. Throws std::runtime_error with the path if another one
    /// listens there, or if it cannot be made.
    explicit MessageServer(const std::filesystem::path& socket, uid_t onlyUser = geteuid());
    ~MessageServer(); ///< Sends what waits as far as clients take it, and removes the path.

    struct Received {
        int client = 0;
        Message message;
        bool stoppedSince = false; ///< A StopHeating given out before this one came after it, or with it.
    };
    /// Waits for at most this long, takes new clients and what they sent. Every StopHeating that has come
    /// stands first, before what came earlier.
    std::vector<Received> receive(int timeoutMs);

    void send(int client, const Message& message); ///< Nothing if that client is gone.
    void sendAll(const Message& message);
    std::vector<int> newClients(); ///< Joined since the last call.

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
