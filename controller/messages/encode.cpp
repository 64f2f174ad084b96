#include "messages/names.h"

#include <cmath>
#include <nlohmann/json.hpp>

namespace stripwright {

using nlohmann::json;

// A number that is none is left out: JSON has no word for it, and a reader must not find a zero in its place.
static void put(json& object, const char* key, double value)
{
    if (std::isfinite(value))
        object[key] = value;
}

static void put(json& object, const char* key, const std::optional<double>& value)
{
    if (value)
        put(object, key, *value);
}

static json toJson(const Sample& sample)
{
    json object{{"message", "sample"}, {"seq", sample.seq}};
    put(object, "time_s", sample.timeS);
    put(object, "profile_s", sample.profileS);
    put(object, "sensor_C", sample.sensorC);
    put(object, "reference_C", sample.referenceC);
    put(object, "expected_C", sample.expectedC);
    put(object, "duty", sample.duty);
    put(object, "joint_low_C", sample.jointLowC);
    put(object, "joint_nominal_C", sample.jointNominalC);
    put(object, "joint_high_C", sample.jointHighC);
    json extra = json::array();
    for (const auto& [channel, value] : sample.extra)
        if (std::isfinite(value))
            extra.push_back({{"channel", channel}, {"value", value}});
    if (!extra.empty())
        object["extra"] = std::move(extra);
    return object;
}

static json toJson(const Event& event)
{
    json object{{"message", "event"},
                {"seq", event.seq},
                {"kind", event.kind},
                {"severity", event.severity},
                {"text", event.text}};
    put(object, "time_s", event.timeS);
    return object;
}

static json toJson(const Status& status)
{
    json object{{"message", "status"},
                {"state", wireName(status.state)},
                {"heater", wireName(status.heater)},
                {"link", wireName(status.link)},
                {"link_text", status.linkText},
                {"card", status.card},
                {"run", status.runKey},
                {"outcome_text", status.outcomeText}};
    put(object, "sensor_C", status.sensorC);
    put(object, "time_s", status.timeS);
    put(object, "profile_s", status.profileS);
    put(object, "end_s", status.endS);
    if (status.outcome)
        object["outcome"] = wireName(*status.outcome);
    if (status.stopTaken > 0)
        object["stop_taken"] = status.stopTaken;
    if (status.trip)
        object["trip"] = {{"text", status.trip->text},
                          {"acknowledged", status.trip->acknowledged},
                          {"cause_seen", status.trip->causeSeen}};
    object["strip"] = wireName(status.strip);
    return object;
}

static json toJson(const StartRun& start)
{
    return {{"message", "start_run"}, {"plan", start.planText}};
}

static json toJson(const ConfirmCard& confirm)
{
    return {{"message", "confirm_card"}, {"card", confirm.card}};
}

static json toJson(const StopHeating& stop)
{
    return {{"message", "stop_heating"}, {"id", stop.id}};
}

static json toJson(const AcknowledgeTrip&)
{
    return {{"message", "acknowledge_trip"}};
}

static json toJson(const ResetTrip&)
{
    return {{"message", "reset_trip"}};
}

static json toJson(const AddNote& note)
{
    return {{"message", "add_note"}, {"text", note.text}};
}

static json toJson(const SolderMark& mark)
{
    return {{"message", "solder_mark"}, {"site", mark.site}, {"liquid", mark.liquid}};
}

static json toJson(const Heartbeat&)
{
    return {{"message", "heartbeat"}};
}

static json toJson(const Shutdown&)
{
    return {{"message", "shutdown"}};
}

static json toJson(const Refused& refused)
{
    json object{{"message", "refused"}, {"why", refused.why}};
    if (!refused.of.empty())
        object["of"] = refused.of;
    return object;
}

const char* wireName(const Message& message)
{
    static constexpr const char* names[] = {"sample",       "event",        "status",           "start_run",
                                            "confirm_card", "stop_heating", "acknowledge_trip", "reset_trip",
                                            "add_note",     "solder_mark",  "heartbeat",        "shutdown",
                                            "refused"};
    static_assert(std::size(names) == std::variant_size_v<Message>);
    return names[message.index()];
}

std::string encode(const Message& message)
{
    const json object = std::visit([](const auto& content) { return toJson(content); }, message);
    // Bytes that are no UTF-8 are replaced, not thrown at: a name in a file must not end a run.
    return object.dump(-1, ' ', false, json::error_handler_t::replace) + '\n';
}

} // namespace stripwright
