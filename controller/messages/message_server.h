#pragma once

#include "messages/messages.h"

#include <filesystem>
#include <memory>

namespace stripwright {

/// A local stream socket, mode 0600, over which several clients exchange messages, one JSON object a line.
/// One thread.
///
/// A line that is no message is answered with Refused. A client that sends a line longer than
/// longestMessageBytes, or does not read what it is sent until 8 MiB wait for it, is dropped.
class MessageServer {
public:
    /// Takes over the path of a server that died. Throws std::runtime_error with the path if another one
    /// listens there, or if it cannot be made.
    explicit MessageServer(const std::filesystem::path& socket);
    ~MessageServer(); ///< Sends what waits as far as clients take it, and removes the path.

    struct Received {
        int client = 0;
        Message message;
    };
    /// Waits for at most this long, takes new clients and what they sent.
    std::vector<Received> receive(int timeoutMs);

    void send(int client, const Message& message); ///< Nothing if that client is gone.
    void sendAll(const Message& message);
    std::vector<int> newClients(); ///< Joined since the last call.

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
