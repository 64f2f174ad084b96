#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace stripwright {

struct JsonToken {
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

struct JsonFault {
    size_t at = 0;
    std::string found, expected;
};

std::string shown(std::string_view text); ///< Part of a document, short and on one line.

/// The tokens of a JSON text (RFC 8259), and what is wrong within one: its encoding, its end, its escapes.
class JsonTokens {
public:
    explicit JsonTokens(std::string_view text);

protected:
    bool encoded(); ///< False, and a fault, for a text that is no UTF-8.
    JsonToken next();
    bool report(size_t at, std::string found, std::string expected); ///< Always false.

    std::string_view text_;
    JsonFault fault_; ///< Nothing found: none yet.

private:
    void endOfText();
    std::optional<unsigned> unitAt(size_t at) const;
    bool escape();

    size_t at_ = 0;
};

} // namespace stripwright
