#pragma once

#include "messages/messages.h"

namespace stripwright {

/// What a mark did to the estimate of its joint. In the run log it is the text of an event of kind "mark", a
/// sentence that is read back; no log needs another table for it.
struct MarkedSolder {
    int site = 0;
    bool liquid = false;
    double beforeC = 0, afterC = 0; ///< Joint, estimated, before the mark counted and with it.
    double meltsFromC = 0,
           meltsUpToC = 0;  ///< The solder's melting point; apart where nobody knows the alloy.
    bool withdraws = false; ///< A "not yet" that takes an earlier "liquid" back.
};

constexpr auto markKind = "mark"; ///< Of the event.

/// Writes the sentence into `text`, cut off at its end. Allocates nothing.
void writeMarkText(const MarkedSolder& mark, char* text, size_t bytes);

/// None if this event is no mark, or its text is not the sentence.
std::optional<MarkedSolder> markOf(const Event& event);

} // namespace stripwright
