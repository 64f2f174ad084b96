#include "messages/solder_mark_text.h"

#include <array>
#include <charconv>
#include <cstdio>
#include <string_view>

namespace stripwright {

static constexpr std::array<std::string_view, 3> said = {"liquid", "not liquid yet",
                                                         "not liquid yet after all"};

void writeMarkText(const MarkedSolder& mark, char* text, size_t bytes)
{
    char melts[60];
    if (mark.meltsFromC == mark.meltsUpToC)
        std::snprintf(melts, sizeof melts, "at %.1f °C", mark.meltsFromC);
    else
        std::snprintf(melts, sizeof melts, "between %.1f and %.1f °C", mark.meltsFromC, mark.meltsUpToC);
    std::snprintf(text, bytes,
                  "solder at site %d said to be %s: joint est. %.1f °C, was %.1f °C; it melts %s", mark.site,
                  said[mark.liquid      ? 0
                       : mark.withdraws ? 2
                                        : 1]
                      .data(),
                  mark.afterC, mark.beforeC, melts);
}

namespace {

/// Reads one sentence from front to back, whatever the user's locale writes for a decimal point.
class Sentence {
public:
    explicit Sentence(std::string_view text) : rest_(text) {}

    bool words(std::string_view expected)
    {
        if (!rest_.starts_with(expected))
            return false;
        rest_.remove_prefix(expected.size());
        return true;
    }
    template <class Value> bool number(Value& value)
    {
        const auto read = std::from_chars(rest_.data(), rest_.data() + rest_.size(), value);
        if (read.ec != std::errc())
            return false;
        rest_.remove_prefix(static_cast<size_t>(read.ptr - rest_.data()));
        return true;
    }
    std::optional<std::string_view> upTo(std::string_view end)
    {
        const size_t at = rest_.find(end);
        if (at == std::string_view::npos)
            return {};
        const std::string_view before = rest_.substr(0, at);
        rest_.remove_prefix(at + end.size());
        return before;
    }

private:
    std::string_view rest_;
};

} // namespace

std::optional<MarkedSolder> markOf(const Event& event)
{
    if (event.kind != markKind)
        return {};
    MarkedSolder mark;
    Sentence sentence(event.text);
    if (!sentence.words("solder at site ") || !sentence.number(mark.site) || !sentence.words(" said to be "))
        return {};
    const auto words = sentence.upTo(": joint est. ");
    size_t saying = 0;
    while (saying < said.size() && words != said[saying])
        ++saying;
    if (saying == said.size() || !sentence.number(mark.afterC) || !sentence.words(" °C, was ") ||
        !sentence.number(mark.beforeC) || !sentence.words(" °C; it melts "))
        return {};
    mark.liquid = saying == 0;
    mark.withdraws = saying == 2;
    if (sentence.words("at ")) {
        if (!sentence.number(mark.meltsFromC))
            return {};
        mark.meltsUpToC = mark.meltsFromC;
    } else if (!sentence.words("between ") || !sentence.number(mark.meltsFromC) || !sentence.words(" and ") ||
               !sentence.number(mark.meltsUpToC)) {
        return {};
    }
    return mark;
}

} // namespace stripwright
