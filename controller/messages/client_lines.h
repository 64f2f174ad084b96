#pragma once

#include "messages/messages.h"

#include <deque>
#include <string>
#include <string_view>
#include <vector>

namespace stripwright {

/// A plan takes about 0.25 MiB; reading an odd line of this length takes the server 0.1 s.
constexpr size_t longestCommandBytes = 2u << 20;

/// What one client has sent, cut into lines that wait to be taken; stops do not wait.
class ClientLines {
public:
    /// Takes what came and gives out the stops in it. Every line that was whole or begun before the last of
    /// them counts as stopped since.
    std::vector<StopHeating> take(std::string_view bytes);
    void stopped() { stoppedSince_ = waiting_.size() + (begun_.empty() ? 0 : 1); } ///< By another client.

    struct Line {
        std::string text;
        bool stoppedSince = false;
    };
    bool empty() const { return waiting_.empty(); }
    size_t nextBytes() const { return waiting_.empty() ? 0 : waiting_.front().size(); }
    Line next(); ///< Only if not empty.

    size_t begunBytes() const { return begun_.size(); } ///< Of the line that is not whole yet.
    bool tooMany() const;

private:
    void wait(std::string line);

    std::string begun_;
    std::deque<std::string> waiting_;
    size_t waitingBytes_ = 0, stoppedSince_ = 0; // lines from the front
};

} // namespace stripwright
