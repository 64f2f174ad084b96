#include "commands/card_keys.h"

#include "models/hand_work.h"

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

/// "l 4", "l4" as "l", and the number; 0: there is none.
static int takeNumber(std::string& word)
{
    constexpr size_t digitsMost = 6;
    const size_t behind = word.find_last_not_of("0123456789");
    const std::string digits = behind == std::string::npos ? "" : word.substr(behind + 1);
    if (digits.empty() || digits.size() > digitsMost)
        return 0;
    word = bare(word.substr(0, behind + 1));
    return std::stoi(digits);
}

CardKeys::Answer CardKeys::take(std::string_view typed, bool asksLiquid)
{
    const size_t end = typed.find('\n');
    line_ += typed.substr(0, end);
    line_.resize(std::min(line_.size(), longestLine));
    if (end == std::string_view::npos)
        return Answer::None;
    found_ = std::exchange(line_, {});
    std::string word = bare(found_);
    std::string bareWord = word;
    const int number = takeNumber(bareWord);
    if (asksLiquid || bareWord == "late") {
        site_ = number;
        word = bareWord;
    }
    if (word == "late")
        return Answer::Late;
    if (asksLiquid && (word == "l" || word == "liquid"))
        return Answer::Liquid;
    if (asksLiquid && (word == "n" || word == "not yet"))
        return Answer::NotYet;
    const bool confirms = (word.empty() || word == "done") && !(asksLiquid && site_ > 0);
    return confirms ? Answer::Confirmed : Answer::SomethingElse;
}

std::string CardKeys::found() const
{
    std::string shown = "\"";
    for (const unsigned char letter : found_)
        shown += letter < ' ' || letter == 127 ? '?' : static_cast<char>(letter);
    return shown + '"';
}

std::string howToConfirm(const HandCard& card)
{
    if (card.mustConfirm)
        return "The heat waits for this. Press Enter when it is done (or type done), or Ctrl+C to leave.";
    if (asksForWork(card))
        return "Press Enter when this is done (or type done), so that the run knows it.";
    return {};
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
