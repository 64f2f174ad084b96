#include "materials/json_syntax.h"

#include <algorithm>
#include <charconv>
#include <optional>
#include <string_view>
#include <vector>

namespace stripwright {

namespace {

struct Token {
    size_t at = 0;
    std::string_view text; ///< Empty at the end of the document.

    bool is(char c) const { return text.size() == 1 && text[0] == c; }
    bool isText() const { return text.starts_with('"'); }
    bool isNumber() const
    {
        return !text.empty() && (std::string_view("+-.").find(text[0]) != std::string_view::npos ||
                                 (text[0] >= '0' && text[0] <= '9'));
    }
    bool isComment() const
    {
        return text.starts_with("//") || text.starts_with("/*") || text.starts_with('#');
    }
    bool ends() const { return text.empty(); }
};

struct Fault {
    size_t at = 0;
    std::string found, expected;
};

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
size_t characterAt(std::string_view text, size_t at)
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

/// Walks the tokens with the rules of RFC 8259 until one does not fit.
class SyntaxWalk {
public:
    explicit SyntaxWalk(std::string_view text) : text_(text)
    {
        if (text_.starts_with("\xEF\xBB\xBF"))
            at_ = 3;
    }

    Fault firstFault()
    {
        if (!encoded())
            return fault_;
        for (;;) {
            const Token token = next();
            if (!fault_.found.empty() || !take(token))
                return fault_;
            if (token.ends())
                return {text_.size(), "a text that is no JSON", "a JSON document"};
            beforeLast_ = last_;
            last_ = token;
        }
    }

private:
    enum class Wants { Value, KeyOrEnd, Key, Colon, CommaOrEnd, ValueOrEnd, Nothing };

    bool report(size_t at, std::string found, std::string expected)
    {
        fault_ = {at, std::move(found), std::move(expected)};
        return false;
    }

    // Bytes of another encoding can only be shown as riddles. A file in UTF-16 that does not say so has a
    // zero byte beside its first character.
    bool encoded()
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

    Token next()
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
        const Token token{from, text_.substr(from, at_ - from)};
        const bool inFront = token.text.starts_with(noBreakSpace);
        if (inFront || (token.text.ends_with(noBreakSpace) && !token.isComment()))
            report(inFront ? from : at_ - noBreakSpace.size(), "a no-break space",
                   "a plain space; type it anew, for it looks the same");
        return token;
    }

    void endOfText()
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
    std::optional<unsigned> unitAt(size_t at) const
    {
        const std::string_view escaped = text_.substr(std::min(at, text_.size()), 6);
        unsigned unit = 0;
        if (escaped.size() < 6 || !escaped.starts_with("\\u"))
            return {};
        const auto [end, error] = std::from_chars(escaped.data() + 2, escaped.data() + 6, unit, 16);
        return error == std::errc() && end == escaped.data() + 6 ? std::optional(unit) : std::nullopt;
    }

    // Leaves at_ on the last character of the escape.
    bool escape()
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
        if (kind != 'u' && kind != '\0' &&
            std::string_view("\"\\/bfnrt").find(kind) != std::string_view::npos)
            return true;
        return report(
            from,
            "a \\ before " +
                (kind ? shown(text_.substr(at_, std::max<size_t>(1, characterAt(text_, at_)))) : "the end"),
            "\\\\ for a backslash, or one of \\\" \\n \\t \\u00B0");
    }

    std::string opened() const
    {
        return std::string(1, text_[open_.back()]) + " of line " + std::to_string(lineOf(open_.back()));
    }
    size_t lineOf(size_t at) const
    {
        return 1 +
               static_cast<size_t>(std::count(text_.begin(), text_.begin() + static_cast<long>(at), '\n'));
    }
    bool inObject() const { return !open_.empty() && text_[open_.back()] == '{'; }

    bool take(const Token& token)
    {
        if (token.isComment())
            return report(token.at,
                          "a comment: " +
                              shown(text_.substr(token.at, text_.find('\n', token.at) - token.at)),
                          "no comment, for comments are not part of JSON; take it out");
        if (token.ends())
            return atEnd(token);
        if (token.is('}') || token.is(']'))
            return close(token);
        if (token.is(','))
            return comma(token);
        if (token.is(':')) {
            if (wants_ != Wants::Colon)
                return report(token.at, "a : " + where(), expectedHere());
            wants_ = Wants::Value;
            return true;
        }
        return thing(token);
    }

    bool atEnd(const Token& token)
    {
        if (!open_.empty())
            return report(token.at, "the end of the file",
                          std::string(inObject() ? "a }" : "a ]") + " that closes the " + opened());
        if (wants_ != Wants::Nothing)
            return report(token.at, "the end of the file", "a JSON document");
        return true;
    }

    bool close(const Token& token)
    {
        const bool fits = !open_.empty() && inObject() == token.is('}');
        const std::string mark(token.text);
        if (!fits)
            return report(token.at, open_.empty() ? "a " + mark + " that closes nothing" : "a " + mark,
                          open_.empty()
                              ? "as many { and [ as } and ]; take it out"
                              : std::string(inObject() ? "a }" : "a ]") + " that closes the " + opened());
        if (last_.is(','))
            return report(last_.at, "a comma too many before " + mark,
                          "no comma behind the last entry; take it out");
        if (wants_ == Wants::Value || wants_ == Wants::Colon)
            return report(token.at, "a " + mark + " " + where(), expectedHere());
        open_.pop_back();
        wants_ = open_.empty() ? Wants::Nothing : Wants::CommaOrEnd;
        return true;
    }

    bool comma(const Token& token)
    {
        if (wants_ != Wants::CommaOrEnd)
            return report(token.at, last_.is(',') ? "two commas in a row" : "a comma " + where(),
                          last_.is(',')                    ? "one comma between two entries; take it out"
                          : last_.is('{') || last_.is('[') ? "no comma before the first entry; take it out"
                                                           : expectedHere());
        wants_ = inObject() ? Wants::Key : Wants::Value;
        return true;
    }

    bool thing(const Token& token)
    {
        if (wants_ == Wants::Nothing)
            return report(token.at, shown(token.text) + " behind the end of the document",
                          "nothing behind the " + std::string(last_.text) + " that closes it; take it out");
        if (wants_ == Wants::Key || wants_ == Wants::KeyOrEnd)
            return key(token);
        if (wants_ == Wants::Colon)
            return report(token.at, shown(token.text) + " right behind the key " + shown(last_.text),
                          "a : between a key and its value");
        const bool unit = last_.isNumber() && !token.isText() && !token.is('{') && !token.is('[');
        if (wants_ == Wants::CommaOrEnd && unit && !token.isNumber())
            return report(last_.at, shown(last_.text) + " " + shown(token.text),
                          "the number alone, for its key names the unit; or a comma between two entries");
        if (wants_ == Wants::CommaOrEnd)
            return report(token.at, shown(token.text) + " right behind " + shown(last_.text),
                          "a comma between two entries");
        if (token.is('{') || token.is('[')) {
            open_.push_back(token.at);
            wants_ = token.is('{') ? Wants::KeyOrEnd : Wants::ValueOrEnd;
            return true;
        }
        if (!token.isText() && !value(token))
            return false;
        wants_ = open_.empty() ? Wants::Nothing : Wants::CommaOrEnd;
        return true;
    }

    bool key(const Token& token)
    {
        if (token.isText()) {
            wants_ = Wants::Colon;
            return true;
        }
        if (token.isNumber() && last_.is(',') && beforeLast_.isNumber())
            return report(last_.at,
                          shown(text_.substr(beforeLast_.at, token.at + token.text.size() - beforeLast_.at)) +
                              ", with a decimal comma",
                          "a decimal point: " + std::string(beforeLast_.text) + "." + shown(token.text));
        return report(token.at, shown(token.text) + " where a key belongs",
                      "a key in double quotes, such as \"title\"");
    }

    bool value(const Token& token)
    {
        if (token.text == "true" || token.text == "false" || token.text == "null")
            return true;
        if (token.text.starts_with('\'') || token.text.starts_with("\xE2\x80"))
            return report(token.at, shown(token.text) + ", in other quotes",
                          "a text in double quotes: \"...\"");
        if (token.isNumber())
            return number(token);
        return report(token.at, shown(token.text) + " as a value",
                      "a number, a text in double quotes, true, false, null, { or [");
    }

    // RFC 8259: no plus sign, no zero in front, digits on both sides of the point.
    bool number(const Token& token)
    {
        std::string_view rest = token.text;
        if (rest.starts_with('-'))
            rest.remove_prefix(1);
        const auto digits = [&rest] {
            const size_t count = std::min(rest.find_first_not_of("0123456789"), rest.size());
            rest.remove_prefix(count);
            return count;
        };
        const bool zeroInFront = rest.starts_with('0');
        const size_t whole = digits();
        bool fits = whole == 1 || (whole > 1 && !zeroInFront);
        if (fits && rest.starts_with('.')) {
            rest.remove_prefix(1);
            fits = digits() > 0;
        }
        if (fits && (rest.starts_with('e') || rest.starts_with('E'))) {
            rest.remove_prefix(1);
            if (rest.starts_with('+') || rest.starts_with('-'))
                rest.remove_prefix(1);
            fits = digits() > 0;
        }
        if (!fits || !rest.empty())
            return report(token.at, shown(token.text) + " as a number",
                          "a number such as 12, -0.5 or 1e-3, without a unit");
        double value = 0;
        const auto [end, error] =
            std::from_chars(token.text.data(), token.text.data() + token.text.size(), value);
        const bool tooSmall = token.text.find('-', 1) != std::string_view::npos; // 1e-400 reads as 0
        if (error != std::errc() && !tooSmall)
            return report(token.at, "the number " + shown(token.text), "a number below 1e308");
        return true;
    }

    std::string where() const { return last_.ends() ? "at the start" : "right behind " + shown(last_.text); }
    std::string expectedHere() const
    {
        switch (wants_) {
        case Wants::Key:
        case Wants::KeyOrEnd:
            return "a key in double quotes, such as \"title\"";
        case Wants::Colon:
            return "a : and a value behind the key";
        case Wants::CommaOrEnd:
            return inObject() ? "a comma or }" : "a comma or ]";
        case Wants::Nothing:
            return "nothing behind the end of the document; take it out";
        case Wants::Value:
        case Wants::ValueOrEnd:
            break;
        }
        return "a value: a number, a text in double quotes, true, false, null, { or [";
    }

    std::string_view text_;
    size_t at_ = 0;
    Wants wants_ = Wants::Value;
    Token last_, beforeLast_;
    std::vector<size_t> open_; ///< Where the brackets stand that are still open.
    Fault fault_;
};

} // namespace

Problem syntaxProblem(const std::string& text, const std::string& file)
{
    const Fault fault = SyntaxWalk(text).firstFault();
    const std::string_view before = std::string_view(text).substr(0, fault.at);
    const size_t lineStart = before.rfind('\n') + 1; // npos + 1 is 0
    const auto isCharacter = [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; };
    const auto line = 1 + std::ranges::count(before, '\n');
    const auto column = 1 + std::ranges::count_if(before.substr(lineStart), isCharacter);
    return {file, "line " + std::to_string(line) + ", column " + std::to_string(column), fault.found,
            fault.expected};
}

} // namespace stripwright
