#pragma once

#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace stripwright {

// What the controller and its window say to each other over a local socket: one JSON object a line.
// NaN does not travel; what is unknown is absent.

enum class RunState { Idle, Starting, Running, Holding, Stopping, Cooling, Ended };
enum class HeaterState { Unknown, On, OffCommanded, OffConfirmed }; ///< "Off" is shown only for OffConfirmed.
enum class LinkState { Unknown, Up, Lost };
/// Where the strip is taken to be: "LiftNotSaid" while the plan has it lifted and nobody has confirmed that,
/// and the estimate still takes it to lie on the plate.
enum class StripPlace { OnPlate, LiftNotSaid, Lifted };
enum class Outcome { Completed, StoppedByOperator, StoppedByLimit, Interrupted, Failed };

/// One control cycle.
struct Sample {
    long seq = 0;                  ///< From 1, no gaps.
    double timeS = 0;              ///< Since the run started, plate time.
    double profileS = 0;           ///< Place in the plan; falls behind timeS when stretched.
    std::optional<double> sensorC; ///< Absent: no valid reading this cycle.
    double referenceC = 0;         ///< Plate reference at profileS.
    double expectedC = 0;          ///< What the sensor should read now.
    double duty = 0;               ///< Commanded, 0 to 1.
    std::optional<double> jointLowC, jointNominalC,
        jointHighC;                                    ///< Estimate of the coldest and hottest target.
    std::vector<std::pair<std::string, double>> extra; ///< "truth_joint_6_C" and the like.
};

/// Something worth a line in the log. A trip's first event names the first cause.
struct Event {
    long seq = 0; ///< Own count, from 1.
    double timeS = 0;
    std::string
        kind; ///< "state", "stretch", "card", "interlock", "operator", "link", "heater", "note", "mark".
    std::string severity; ///< "info", "warning", "trip".
    std::string text;
};

/// What turned the heat off for good, in a run or without one. It stays until it is reset, whatever follows.
struct Trip {
    std::string text;          ///< The first cause.
    bool acknowledged = false; ///< Somebody has seen it. No reset.
    bool causeSeen = false;    ///< The cause is still there: a reset is refused.
};

struct Status {
    RunState state = RunState::Idle;
    HeaterState heater = HeaterState::Unknown;
    LinkState link = LinkState::Unknown;
    std::string linkText; ///< In words.
    std::optional<double> sensorC;
    double timeS = 0, profileS = 0, endS = 0;
    std::string card;               ///< id of the hand card that is up; empty: none.
    std::string runKey;             ///< Key of the run in the log; empty when idle.
    std::optional<Outcome> outcome; ///< Once ended.
    std::string outcomeText;
    long stopTaken =
        0; ///< id of the last StopHeating that the control cycle behind this status has acted on.
    std::optional<Trip> trip;
    StripPlace strip = StripPlace::OnPlate;
};

struct StartRun {
    std::string planText;
}; ///< A heat plan document.
struct ConfirmCard {
    std::string card;
};
/// Carried out in any state, a run or not. Each carries an id of its own: a status whose stopTaken is that id
/// answers this very stop, no other one does.
struct StopHeating {
    long id = 0;
};
struct AcknowledgeTrip {}; ///< The first cause was seen; it stays.
struct ResetTrip {};       ///< Refused while a cause is seen or before it was acknowledged. Starts nothing.
struct AddNote {
    std::string text;
};
/// What the hands see of a target's solder: it has just turned liquid, or it has not yet. The first is to
/// come as the solder turns, the second may come again and again; "not yet" after "liquid" takes the latter
/// back. Answered by an Event of kind "mark" (solder_mark_text.h), or refused.
struct SolderMark {
    int site = 0;
    bool liquid = false;
};
struct Heartbeat {}; ///< Each way, 2 Hz wall time.
struct Shutdown {};  ///< Refused while heat is on.
struct Refused {
    std::string why;
    std::string of; ///< wireName() of that command; empty: of a line that could not be read as one.
};                  ///< Controller's answer to a command it does not carry out.

using Message = std::variant<Sample, Event, Status, StartRun, ConfirmCard, StopHeating, AcknowledgeTrip,
                             ResetTrip, AddNote, SolderMark, Heartbeat, Shutdown, Refused>;

std::string encode(const Message& message);   ///< One line, newline included.
const char* wireName(const Message& message); ///< "start_run" and the like.

/// Nothing if the line is no message; `why` then says what was wrong. Never throws.
std::optional<Message> decode(const std::string& line, std::string& why);

constexpr size_t longestMessageBytes = 16u << 20; ///< A longer line is refused and the peer dropped.

const char* inWords(RunState state);
const char* inWords(HeaterState heater);
const char* inWords(LinkState link);
const char* inWords(StripPlace place);
const char* inWords(Outcome outcome);
/// With the reason, no word twice: "stopped by the operator; plate at 44.9 °C".
std::string inWords(Outcome outcome, const std::string& text);

} // namespace stripwright
