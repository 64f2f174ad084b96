#pragma once

#include "link/plate.h"
#include "messages/messages.h"

#include <array>
#include <optional>

namespace stripwright {

enum class EventKind { State, Stretch, Card, Interlock, Operator, Link, Heater, Note, Mark };
enum class Severity { Info, Warning, Trip };

constexpr size_t eventTextBytes = 400;

/// An event before it becomes a message. Fixed size.
struct LoopEvent {
    long seq = 0;
    double timeS = 0;
    EventKind kind = EventKind::Note;
    Severity severity = Severity::Info;
    std::array<char, eventTextBytes> text{};
};

/// All that one control cycle has to say. Fixed size: it goes through a ring to the threads that log and show
/// it.
struct CycleRecord {
    RunState state = RunState::Idle;
    HeaterState heater = HeaterState::Unknown;
    LinkState link = LinkState::Unknown;
    std::array<char, 200> linkText{};
    std::optional<double> sensorC;
    double timeS = 0, profileS = 0, endS = 0;
    double referenceC = 0, expectedC = 0, duty = 0;
    std::optional<double> jointLowC, jointNominalC, jointHighC;
    unsigned long long saidLiquid = 0; ///< By the hands, a bit a target in the order of the plan's joints.
    int extraCount = 0;
    std::array<double, maxExtraChannels> extraC{};
    bool warmsUnasked = false; ///< Idle only: the plate gets warmer although no run is on.
    /// Idle only: heater off was read back since the last run, and nothing was told or warmed since.
    bool wasReadBackOff = false;
    StripPlace strip = StripPlace::OnPlate;
    /// A check that ends heat sees its cause in this cycle, in a run or without one; the strongest one's
    /// words.
    bool causeSeen = false;
    std::array<char, 200> causeText{};
    /// What the control thread adds: its own count of cycles, the number of the last stop it has acted on,
    /// and the trip that stands until it is reset.
    long cycle = 0, stopTaken = 0;
    bool tripLatched = false, tripAcknowledged = false;
    std::array<char, 200> tripText{};
    long sampleSeq = 0; ///< 0: no sample belongs to this cycle.
    int card = -1;      ///< Index into the plan's cards; -1: none is up.
    std::optional<Outcome> outcome;
    std::array<char, eventTextBytes> outcomeText{};
    int eventCount = 0;
    std::array<LoopEvent, 16> events{};
};

Sample sampleOf(const CycleRecord& record, const std::vector<std::string>& channelNames);
Event messageOf(const LoopEvent& event);
/// All but stopTaken: the ids of stops are the desk's.
Status statusOf(const CycleRecord& record, const std::string& cardId, const std::string& runKey);

} // namespace stripwright
