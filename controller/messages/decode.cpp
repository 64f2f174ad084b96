#include "materials/json_fields.h"
#include "messages/names.h"

namespace stripwright {

using nlohmann::json;

template <class Enum, class Names>
static Enum readName(Fields& fields, const std::string& key, const Names& names)
{
    std::vector<std::string> choices;
    for (const Name& name : names)
        choices.push_back(name.wire);
    return static_cast<Enum>(fields.choice(key, choices));
}

static constexpr int highestSeq = std::numeric_limits<int>::max();

static void readExtra(Fields& fields, Sample& sample)
{
    const json* extra = fields.optional("extra");
    if (!extra)
        return;
    if (!extra->is_array()) {
        fields.report("extra", quoted(*extra), "an array of channels");
        return;
    }
    for (size_t i = 0; i < extra->size(); ++i) {
        Fields channel((*extra)[i], fields.file(), fields.at("extra") + "/" + std::to_string(i),
                       fields.problems());
        const std::string name = channel.text("channel");
        const double value = channel.number("value");
        channel.finish();
        sample.extra.emplace_back(name, value);
    }
}

static Message readSample(Fields& fields)
{
    Sample sample;
    sample.seq = fields.integer("seq", 1, highestSeq);
    sample.timeS = fields.number("time_s");
    sample.profileS = fields.number("profile_s");
    sample.sensorC = fields.optionalNumber("sensor_C");
    sample.referenceC = fields.number("reference_C");
    sample.expectedC = fields.number("expected_C");
    sample.duty = fields.number("duty", within(0, 1));
    sample.jointLowC = fields.optionalNumber("joint_low_C");
    sample.jointNominalC = fields.optionalNumber("joint_nominal_C");
    sample.jointHighC = fields.optionalNumber("joint_high_C");
    readExtra(fields, sample);
    return sample;
}

static Message readEvent(Fields& fields)
{
    Event event;
    event.seq = fields.integer("seq", 1, highestSeq);
    event.timeS = fields.number("time_s");
    event.kind = fields.text("kind");
    event.severity = fields.text("severity");
    event.text = fields.textOr("text", "");
    return event;
}

static void readTrip(Fields& fields, Status& status)
{
    const json* found = fields.optional("trip");
    if (!found)
        return;
    Fields trip(*found, fields.file(), fields.at("trip"), fields.problems());
    status.trip.emplace();
    status.trip->text = trip.text("text");
    status.trip->acknowledged = trip.flagOr("acknowledged", false);
    status.trip->causeSeen = trip.flagOr("cause_seen", true);
    trip.finish();
}

static Message readStatus(Fields& fields)
{
    Status status;
    status.state = readName<RunState>(fields, "state", runStateNames);
    status.heater = readName<HeaterState>(fields, "heater", heaterStateNames);
    status.link = readName<LinkState>(fields, "link", linkStateNames);
    status.linkText = fields.textOr("link_text", "");
    status.sensorC = fields.optionalNumber("sensor_C");
    status.timeS = fields.number("time_s");
    status.profileS = fields.number("profile_s");
    status.endS = fields.number("end_s");
    status.card = fields.textOr("card", "");
    status.runKey = fields.textOr("run", "");
    if (fields.optional("outcome"))
        status.outcome = readName<Outcome>(fields, "outcome", outcomeNames);
    status.outcomeText = fields.textOr("outcome_text", "");
    status.stopTaken = fields.integerOr("stop_taken", 0, 1, highestSeq);
    readTrip(fields, status);
    status.strip = readName<StripPlace>(fields, "strip", stripPlaceNames);
    return status;
}

static Message readMark(Fields& fields)
{
    SolderMark mark;
    mark.site = fields.integer("site", 1, highestSeq);
    if (fields.required("liquid", "true or false"))
        mark.liquid = fields.flagOr("liquid", false);
    return mark;
}

static Message readRefused(Fields& fields)
{
    Refused refused;
    refused.why = fields.text("why");
    refused.of = fields.textOr("of", "");
    return refused;
}

static std::optional<Message> readMessage(const std::string& name, Fields& fields)
{
    if (name == "sample")
        return readSample(fields);
    if (name == "event")
        return readEvent(fields);
    if (name == "status")
        return readStatus(fields);
    if (name == "start_run")
        return StartRun{fields.text("plan")};
    if (name == "confirm_card")
        return ConfirmCard{fields.text("card")};
    if (name == "acknowledge_trip")
        return AcknowledgeTrip{};
    if (name == "reset_trip")
        return ResetTrip{};
    if (name == "add_note")
        return AddNote{fields.text("text")};
    if (name == "solder_mark")
        return readMark(fields);
    if (name == "heartbeat")
        return Heartbeat{};
    if (name == "shutdown")
        return Shutdown{};
    if (name == "refused")
        return readRefused(fields);
    fields.report(
        "message", '"' + name + '"',
        oneOf({"sample", "event", "status", "start_run", "confirm_card", "stop_heating", "acknowledge_trip",
               "reset_trip", "add_note", "solder_mark", "heartbeat", "shutdown", "refused"}));
    return std::nullopt;
}

// A stop is a stop, whatever else stands in it.
static Message readStop(const json& value)
{
    const auto id = value.find("id");
    const bool usable = id != value.end() && id->is_number_integer() && *id >= 0 && *id <= highestSeq;
    return StopHeating{usable ? id->get<long>() : 0};
}

// Messages are three levels deep. Printing a value of a million levels, as a refusal would, ends the process.
static bool refuseDeepNesting(int depth, json::parse_event_t, json&)
{
    constexpr int deepest = 8;
    if (depth > deepest)
        throw std::length_error("nested deeper than " + std::to_string(deepest) + " levels");
    return true;
}

std::optional<Message> decode(const std::string& line, std::string& why)
{
    why.clear();
    if (line.size() > longestMessageBytes) {
        why = "message: found " + std::to_string(line.size()) + " bytes, expected at most " +
              std::to_string(longestMessageBytes);
        return std::nullopt;
    }
    // Out of memory, numbers beyond double and broken syntax all come as exceptions; none may pass the
    // socket.
    try {
        const json value = json::parse(line, refuseDeepNesting);
        std::vector<Problem> problems;
        Fields fields(value, "message", "", problems);
        std::optional<Message> message;
        const std::string name = fields.text("message");
        if (name == "stop_heating")
            return readStop(value);
        if (problems.empty())
            message = readMessage(name, fields);
        if (problems.empty())
            fields.finish();
        if (problems.empty())
            return message;
        why = problems.front().text();
    } catch (const std::exception& error) {
        why = std::string("message: found no JSON object (") + error.what() + "), expected one on each line";
    }
    return std::nullopt;
}

} // namespace stripwright
