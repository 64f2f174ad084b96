#include "materials/json_syntax.h"

#include "materials/json_tokens.h"

#include <algorithm>
#include <charconv>
#include <vector>

namespace stripwright {

namespace {

using Token = JsonToken;

/// Walks the tokens with the rules of RFC 8259 until one does not fit.
class SyntaxWalk : JsonTokens {
public:
    explicit SyntaxWalk(std::string_view text) : JsonTokens(text) {}

    JsonFault firstFault()
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

    Wants wants_ = Wants::Value;
    Token last_, beforeLast_;
    std::vector<size_t> open_; ///< Where the brackets stand that are still open.
};

} // namespace

Problem syntaxProblem(const std::string& text, const std::string& file)
{
    const JsonFault fault = SyntaxWalk(text).firstFault();
    const std::string_view before = std::string_view(text).substr(0, fault.at);
    const size_t lineStart = before.rfind('\n') + 1; // npos + 1 is 0
    const auto isCharacter = [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; };
    const auto line = 1 + std::ranges::count(before, '\n');
    const auto column = 1 + std::ranges::count_if(before.substr(lineStart), isCharacter);
    return {file, "line " + std::to_string(line) + ", column " + std::to_string(column), fault.found,
            fault.expected};
}

} // namespace stripwright
