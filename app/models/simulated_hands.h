#pragma once

#include "messages/messages.h"
#include "models/measured_hands.h"

#include <filesystem>
#include <string_view>

namespace stripwright {

// On a simulated plate nobody lifts an LED or sees solder. The command line then answers cards and says when
// the solder turns liquid itself, and notes so in the run: first that the hands are simulated, then by each
// card that a person answered all the same. What a run that bears the note says of hands is theirs only
// there.

extern const std::string simulatedHandsNote; ///< Text of a note, for the whole run.
/// The same of a window, where a person answers every card, of a strip that nobody touches.
extern const std::string simulatedPlateNote;
std::string byPersonNote(const std::string& card);

bool isHandsCard(std::string_view card); ///< One whose time tells how quick hands are.

bool handsWereSimulated(const std::vector<Event>& events);
bool simulationAnswered(const std::vector<Event>& events); ///< Cards and marks, not a person at the window.

/// What runs say of a person's hands.
struct LearntHands {
    MeasuredHands measured;
    std::string found; ///< What there was: "3 runs: all on the simulated plate with simulated hands".
};
LearntHands personsHandsIn(const std::filesystem::path& runs); ///< Throws RunLogError.

/// Adds what a person's hands did in one run; of simulated ones nothing.
void addPersonsHands(const std::vector<Event>& events, MeasuredHands& measured);

/// The same of the events of each run.
LearntHands personsHandsOf(const std::vector<std::vector<Event>>& runs);

} // namespace stripwright
