#include "commands/card_keys.h"

#include <algorithm>
#include <cctype>
#include <poll.h>
#include <termios.h>
#include <unistd.h>
#include <utility>

namespace stripwright {

static constexpr size_t longestLine = 200, mostDropped = 1u << 20;

static std::string bare(std::string text)
{
    const auto isBlank = [](unsigned char letter) { return std::isspace(letter); };
    text.erase(std::find_if_not(text.rbegin(), text.rend(), isBlank).base(), text.end());
    text.erase(text.begin(), std::find_if_not(text.begin(), text.end(), isBlank));
    std::ranges::transform(text, text.begin(), [](unsigned char letter) { return std::tolower(letter); });
    return text;
}

CardKeys::Answer CardKeys::take(std::string_view typed, bool asksLiquid)
{
    const size_t end = typed.find('\n');
    line_ += typed.substr(0, end);
    line_.resize(std::min(line_.size(), longestLine));
    if (end == std::string_view::npos)
        return Answer::None;
    found_ = std::exchange(line_, {});
    const std::string word = bare(found_);
    if (asksLiquid && (word == "l" || word == "liquid"))
        return Answer::Liquid;
    if (asksLiquid && (word == "n" || word == "not yet"))
        return Answer::NotYet;
    return word.empty() || word == "done" ? Answer::Confirmed : Answer::SomethingElse;
}

std::string CardKeys::found() const
{
    std::string shown = "\"";
    for (const unsigned char letter : found_)
        shown += letter < ' ' || letter == 127 ? '?' : static_cast<char>(letter);
    return shown + '"';
}

void dropTyped(int descriptor)
{
    if (isatty(descriptor)) {
        tcflush(descriptor, TCIFLUSH);
        return;
    }
    char bytes[4096];
    pollfd ready{descriptor, POLLIN, 0};
    for (size_t dropped = 0; dropped < mostDropped && poll(&ready, 1, 0) > 0;) {
        const ssize_t count = read(descriptor, bytes, sizeof bytes);
        if (count <= 0)
            return;
        dropped += static_cast<size_t>(count);
    }
}

} // namespace stripwright
