#include "messages/client_lines.h"

#include <algorithm>
#include <optional>

namespace stripwright {

static constexpr size_t mostWaiting = 1000, mostWaitingBytes = longestCommandBytes + (1u << 20);
static constexpr size_t longestStopBytes = 512;

// Every line is looked at as it comes, so it must be quick.
static bool mayBeStop(const std::string& line)
{
    return line.size() <= longestStopBytes && line.find("stop_heating") != std::string::npos;
}

std::vector<StopHeating> ClientLines::take(std::string_view bytes)
{
    constexpr size_t mostStops = 8; // of a flood the newest are enough: each of them ends the heat
    std::deque<std::string> maybeStops;
    size_t before = 0;
    // Only what is new can hold the end of a line: a long plan must not be searched again for every piece.
    for (size_t end; (end = bytes.find('\n')) != std::string_view::npos; bytes.remove_prefix(end + 1)) {
        begun_.append(bytes.substr(0, end));
        if (mayBeStop(begun_)) {
            maybeStops.push_back(std::move(begun_));
            before = waiting_.size();
            if (maybeStops.size() > mostStops)
                maybeStops.pop_front();
        } else {
            wait(std::move(begun_));
        }
        begun_.clear();
    }
    begun_.append(bytes);

    std::vector<StopHeating> stops;
    for (std::string& line : maybeStops) {
        std::string why;
        const std::optional<Message> message = decode(line, why);
        if (const auto* stop = message ? std::get_if<StopHeating>(&*message) : nullptr)
            stops.push_back(*stop);
        else
            wait(std::move(line));
    }
    if (!stops.empty())
        stoppedSince_ = std::max(stoppedSince_, before);
    return stops;
}

void ClientLines::wait(std::string line)
{
    waitingBytes_ += line.size();
    waiting_.push_back(std::move(line));
}

ClientLines::Line ClientLines::next()
{
    Line line{std::move(waiting_.front()), stoppedSince_ > 0};
    waiting_.pop_front();
    waitingBytes_ -= line.text.size();
    stoppedSince_ -= std::min<size_t>(stoppedSince_, 1);
    return line;
}

bool ClientLines::tooMany() const
{
    return waiting_.size() > mostWaiting || waitingBytes_ > mostWaitingBytes;
}

} // namespace stripwright
