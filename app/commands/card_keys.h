#pragma once

#include "planner/heat_plan.h"

#include <string>
#include <string_view>

namespace stripwright {

/// What is typed while a hand card waits to be confirmed: an empty line, or the word "done", confirms it, and
/// nothing else does. Where the card asks about solder, "l" says that it is liquid and "n" that it is not
/// yet, with a site's number behind it where there are several. "late", with a site's number where there are
/// several, says of a card before it, whose time passed without a word, that it was done.
class CardKeys {
public:
    enum class Answer { None, Confirmed, Liquid, NotYet, Late, SomethingElse };

    void forget() { line_.clear(); } ///< A card has come up: what was begun before is not meant for it.

    /// The first line that is whole answers; lines that came together with it are nobody's answer.
    Answer take(std::string_view typed, bool asksLiquid = false);
    int site() const { return site_; } ///< Number behind Liquid, NotYet or Late; 0: none.
    std::string found() const;         ///< What stood there instead, quoted.

private:
    std::string line_, found_;
    int site_ = 0;
};

/// How a card that is up is said to be done; empty: its time only runs, and nothing is to be confirmed.
std::string howToConfirm(const HandCard& card);

/// Throws away what was typed and not read yet.
void dropTyped(int descriptor);

} // namespace stripwright
