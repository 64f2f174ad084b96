#pragma once

#include "messages/messages.h"

#include <filesystem>
#include <functional>

namespace stripwright::faults {

/// What a window does, without the window: answers heartbeats, confirms what must be confirmed before the
/// heat, keeps what it is told.
class Client {
public:
    explicit Client(const std::filesystem::path& socket);
    ~Client() { leave(); }
    Client(const Client&) = delete;
    Client& operator=(const Client&) = delete;

    void send(const Message& message) { sendLine(encode(message)); }
    /// Gives up, in the middle of a line if need be, if the controller is gone or takes nothing for so long.
    void sendLine(const std::string& line, double patienceS = 2);
    void leave();

    bool until(const std::function<bool()>& done, double patienceS); ///< Listens meanwhile.

    struct Heard {
        double wallS;
        Event event;
    };
    Status status;
    std::vector<Heard> events;
    std::vector<std::string> refusals;
    bool closed = false;
    bool silent = false; ///< Neither listens nor answers, as a window that was stopped.

private:
    void listen();
    void take(const Message& message);

    int socket_ = -1;
    std::string waiting_;
};

} // namespace stripwright::faults
