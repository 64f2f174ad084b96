#pragma once

#include "messages/messages.h"
#include "planner/heat_plan.h"

#include <string_view>

namespace stripwright {

constexpr auto liftCard = "lift-strip";

/// Before a card's id in the log, as the controller writes it: said in time, or so long after that nobody
/// knows when it was done.
constexpr std::string_view doneWord = "done: ", doneLateWord = "done late: ";

/// Whether the card has something done by the hands that can be said to be done: no waiting, no watching.
bool asksForWork(const HandCard& card);

/// Whether the card after this one is work that hands which are done with this one may go on to at once: the
/// next joint, liquid like this one. A lens has to wait for its own time.
bool workFollows(const std::vector<HandCard>& cards, const HandCard& card);

/// What the time that the hands need on liquid joints is made of: "Hands need 35 s from 1:09, when ...".
std::string handsNeedText(const HandWork& work, double sureFromS);

/// The last card said done whose time is not over; null: none. It is not up any more.
const HandCard* doneBeforeItsEnd(const std::vector<HandCard>& cards, const std::vector<Event>& events,
                                 double profileS);

/// Work whose time is over and that the hands never said was done, lifting apart, whose card stays. That the
/// solder was seen liquid is said by a mark, or by work on it, too.
std::vector<HandCard> passedUnsaid(const std::vector<HandCard>& cards, const std::vector<Event>& events,
                                   double placeS);
int siteOf(const HandCard& card); ///< Of one for the hands at a site; 0: of another.

/// Work that the hands said was done only after its time: when it was, nobody knows.
std::vector<HandCard> saidLate(const std::vector<HandCard>& cards, const std::vector<Event>& events);

/// When the heat was stopped before its end; none: it was not.
std::optional<double> stoppedS(const std::vector<Event>& events);
/// "LED set down at sites 6 and 8, lens taken off at site 3"; empty: of none.
std::string workInWords(const std::vector<HandCard>& cards);

/// When the hands last said that a card by time was done, late or not.
std::optional<double> saidDoneS(const std::vector<Event>& events, const HandCard& card);

int timesNeeded(const std::vector<HandCard>& cards); ///< How often a heat's hands have something to do.

/// An event's text, with what a card says in place of its id.
std::string eventInWords(const Event& event, const std::vector<HandCard>& cards);

} // namespace stripwright
