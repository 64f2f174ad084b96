#include "models/simulated_hands.h"

#include "models/hand_work.h"
#include "runlog/run_log.h"

#include <algorithm>
#include <set>

namespace stripwright {

const std::string simulatedHandsNote =
    "simulated hands: cards are answered and solder is said to be liquid by the simulation, but for cards "
    "that are noted to be answered by a person";

const std::string simulatedPlateNote = "simulated plate: what is said of hands tells nothing of anybody's";

static constexpr std::string_view byPerson = "answered by a person: ";

std::string byPersonNote(const std::string& card)
{
    return std::string(byPerson) + card;
}

bool handsWereSimulated(const std::vector<Event>& events)
{
    return std::ranges::any_of(events, [](const Event& event) {
        return event.kind == "note" && (event.text == simulatedHandsNote || event.text == simulatedPlateNote);
    });
}

bool simulationAnswered(const std::vector<Event>& events)
{
    return std::ranges::any_of(
        events, [](const Event& event) { return event.kind == "note" && event.text == simulatedHandsNote; });
}

bool isHandsCard(std::string_view card)
{
    return card == "see-liquid" || card.starts_with("swap-led-") || card.starts_with("remove-led-");
}

/// Without what the simulation did. What a person did before it tells nothing of how long they took after it.
void addPersonsHands(const std::vector<Event>& events, MeasuredHands& measured)
{
    if (!handsWereSimulated(events)) {
        addHands(events, measured);
        return;
    }
    std::set<std::string> persons;
    for (const Event& event : events)
        if (event.kind == "note" && event.text.starts_with(byPerson))
            persons.insert(event.text.substr(byPerson.size()));
    std::vector<Event> inOneGo;
    for (const Event& event : events) {
        if (event.kind != "card")
            continue;
        if (!event.text.starts_with(doneWord)) {
            inOneGo.push_back(event); // a card that came up
            continue;
        }
        const std::string card = event.text.substr(doneWord.size());
        if (persons.contains(card)) {
            inOneGo.push_back(event);
        } else if (isHandsCard(card)) {
            addHands(inOneGo, measured);
            inOneGo.clear();
        }
    }
    addHands(inOneGo, measured);
}

static std::string ofRuns(size_t count, size_t all)
{
    return count == all ? "all" : std::to_string(count);
}

LearntHands personsHandsOf(const std::vector<std::vector<Event>>& runs)
{
    LearntHands learnt;
    size_t simulated = 0, silent = 0;
    for (const std::vector<Event>& events : runs) {
        const size_t before = learnt.measured.siteS.size() + learnt.measured.liftS.size();
        addPersonsHands(events, learnt.measured);
        if (learnt.measured.siteS.size() + learnt.measured.liftS.size() > before)
            continue;
        ++(handsWereSimulated(events) ? simulated : silent);
    }
    const size_t all = runs.size();
    learnt.found = all == 0 ? "no run" : all == 1 ? "1 run" : std::to_string(all) + " runs";
    if (simulated > 0)
        learnt.found += ": " + (all == 1 ? "" : ofRuns(simulated, all) + " ") +
                        "on the simulated plate with simulated hands";
    if (silent > 0)
        learnt.found += (simulated > 0 ? ", " : ": ") + (all == 1 ? "" : ofRuns(silent, all) + " ") +
                        "without two of its cards for the hands said done one after the other";
    const size_t most = std::max(learnt.measured.siteS.size(), learnt.measured.liftS.size());
    if (most > 0)
        learnt.found += (simulated + silent > 0 ? "; " : ": ") + std::to_string(most) +
                        (most == 1 ? " site" : " sites") + " timed";
    return learnt;
}

LearntHands personsHandsIn(const std::filesystem::path& runs)
{
    const RunReader reader(runs);
    std::vector<std::vector<Event>> events;
    for (const RunSummary& run : reader.runs())
        events.push_back(reader.read(run.key).events);
    return personsHandsOf(events);
}

} // namespace stripwright
