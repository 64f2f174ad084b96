#include "materials/json_tokens.h"

#include "materials/problem.h"

#include <algorithm>
#include <charconv>

namespace stripwright {

constexpr std::string_view blanks = " \t\r\n", marks = "{}[],:", noBreakSpace = "\xC2\xA0";

std::string shown(std::string_view text)
{
    constexpr size_t longest = 30;
    std::string clean(text);
    for (char& c : clean)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F)
            c = ' ';
    return cut(clean, longest);
}

// How many bytes the UTF-8 character here has; 0: it is none (RFC 3629).
static size_t characterAt(std::string_view text, size_t at)
{
    const auto byte = [&](size_t i) { return i < text.size() ? static_cast<unsigned char>(text[i]) : 0U; };
    const unsigned first = byte(at), second = byte(at + 1);
    if (first < 0x80)
        return 1;
    const size_t size = first >= 0xC2 && first <= 0xDF   ? 2
                        : first >= 0xE0 && first <= 0xEF ? 3
                        : first >= 0xF0 && first <= 0xF4 ? 4
                                                         : 0;
    for (size_t i = 1; i < size; ++i)
        if ((byte(at + i) & 0xC0) != 0x80)
            return 0;
    const bool overlong = (first == 0xE0 && second < 0xA0) || (first == 0xF0 && second < 0x90);
    const bool beyond = (first == 0xED && second > 0x9F) || (first == 0xF4 && second > 0x8F);
    return overlong || beyond ? 0 : size;
}

JsonTokens::JsonTokens(std::string_view text) : text_(text)
{
    if (text_.starts_with("\xEF\xBB\xBF"))
        at_ = 3;
}

bool JsonTokens::report(size_t at, std::string found, std::string expected)
{
    fault_ = {at, std::move(found), std::move(expected)};
    return false;
}

// Bytes of another encoding can only be shown as riddles. A file in UTF-16 that does not say so has a
// zero byte beside its first character.
bool JsonTokens::encoded()
{
    size_t at = text_.substr(0, 2).find('\0');
    if (at == std::string_view::npos)
        for (at = 0; at < text_.size();) {
            const size_t size = characterAt(text_, at);
            if (size == 0)
                break;
            at += size;
        }
    return at == text_.size() || report(at, "a file that is no UTF-8 text",
                                        "a file saved as UTF-8: choose that encoding in your editor");
}

JsonToken JsonTokens::next()
{
    at_ = std::min(text_.find_first_not_of(blanks, at_), text_.size());
    const size_t from = at_;
    if (from == text_.size())
        return {from, {}};
    if (text_[from] == '"') {
        endOfText();
    } else if (marks.find(text_[from]) != std::string_view::npos) {
        ++at_;
    } else {
        at_ = std::min(text_.find_first_of(" \t\r\n{}[],:\"", from + 1), text_.size());
    }
    const JsonToken token{from, text_.substr(from, at_ - from)};
    const bool inFront = token.text.starts_with(noBreakSpace);
    if (inFront || (token.text.ends_with(noBreakSpace) && !token.isComment()))
        report(inFront ? from : at_ - noBreakSpace.size(), "a no-break space",
               "a plain space; type it anew, for it looks the same");
    return token;
}

void JsonTokens::endOfText()
{
    const size_t from = at_++;
    while (at_ < text_.size() && text_[at_] != '"') {
        const auto c = static_cast<unsigned char>(text_[at_]);
        if (c == '\n' || c == '\r') {
            report(from, "a text that does not end on its line: " + shown(text_.substr(from, at_ - from)),
                   "a \" at its end, and \\n where the text has a line break");
            return;
        }
        if (c < 0x20) {
            report(at_, "a control character inside a text", "a space, or \\t for a tab");
            return;
        }
        if (c == '\\' && !escape())
            return;
        ++at_;
    }
    if (at_ == text_.size())
        report(from, "a text that does not end: " + shown(text_.substr(from)), "a \" at its end");
    else
        ++at_;
}

// The 16 bits of a \u and four digits here.
std::optional<unsigned> JsonTokens::unitAt(size_t at) const
{
    const std::string_view escaped = text_.substr(std::min(at, text_.size()), 6);
    unsigned unit = 0;
    if (escaped.size() < 6 || !escaped.starts_with("\\u"))
        return {};
    const auto [end, error] = std::from_chars(escaped.data() + 2, escaped.data() + 6, unit, 16);
    return error == std::errc() && end == escaped.data() + 6 ? std::optional(unit) : std::nullopt;
}

// Leaves at_ on the last character of the escape.
bool JsonTokens::escape()
{
    const auto isHigh = [](unsigned unit) { return (unit & 0xFC00) == 0xD800; };
    const auto isLow = [](unsigned unit) { return (unit & 0xFC00) == 0xDC00; };
    const size_t from = at_++;
    const char kind = at_ < text_.size() ? text_[at_] : '\0';
    if (const auto unit = unitAt(from)) {
        const bool pair = isHigh(*unit) && isLow(unitAt(from + 6).value_or(0));
        if (!pair && (isHigh(*unit) || isLow(*unit)))
            return report(from, std::string(text_.substr(from, 6)) + ", half of a character",
                          "both of its halves, such as \\uD83D\\uDCA1, or the character itself");
        at_ = from + (pair ? 11 : 5);
        return true;
    }
    if (kind != 'u' && kind != '\0' && std::string_view("\"\\/bfnrt").find(kind) != std::string_view::npos)
        return true;
    return report(
        from,
        "a \\ before " +
            (kind ? shown(text_.substr(at_, std::max<size_t>(1, characterAt(text_, at_)))) : "the end"),
        "\\\\ for a backslash, or one of \\\" \\n \\t \\u00B0");
}

} // namespace stripwright
