#include "link/plate_link.h"

#include "link/register_codec.h"
#include "materials/json_fields.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using nlohmann::json;

static const char* const linkFormat = "stripwright-plate-link";
static const std::vector<std::string> tableNames = {"coil", "discrete", "input", "holding"};
static const std::vector<std::string> typeNames = {"int16", "uint16", "int32", "float32"};
static const std::vector<std::string> orderNames = {"ABCD", "CDAB", "BADC", "DCBA"};
static const std::vector<std::string> driveNames = {"duty", "setpoint"};

enum class Content { Quantity, Bits, Switch }; // scaled number; whole number taken as it is; on or off

static bool isBit(const RegisterField& field)
{
    return field.table == RegisterTable::Coil || field.table == RegisterTable::Discrete;
}

static RegisterField readField(Fields& fields, Content content)
{
    RegisterField field;
    field.table = static_cast<RegisterTable>(fields.choice("table", tableNames));
    field.address = fields.integer("address", 0, 65535);
    if (content == Content::Switch) {
        field.type = RegisterType::Uint16;
        return field;
    }
    if (isBit(field) && content == Content::Bits) {
        field.type = RegisterType::Uint16;
        return field;
    }
    if (isBit(field))
        fields.report("table", quoted(json(tableNames[static_cast<size_t>(field.table)])),
                      "one of input, holding");
    field.type = static_cast<RegisterType>(fields.choice("type", typeNames));
    if (content == Content::Bits && field.type == RegisterType::Float32)
        fields.report("type", "\"float32\"", "one of int16, uint16, int32");
    field.order = static_cast<WordOrder>(fields.choice("order", orderNames, 0));
    if (content == Content::Quantity) {
        field.scale = fields.numberOr("scale", 1);
        field.offset = fields.numberOr("offset", 0);
        if (field.scale == 0) {
            fields.report("scale", "0", "a number that is not 0");
            field.scale = 1;
        }
    }
    if (field.address + wordsOf(field) > 65536)
        fields.report("address", std::to_string(field.address),
                      "at most 65534: the value takes two registers and 65535 is the last");
    return field;
}

static void reportMember(Fields& parent, const std::string& key, const std::string& member,
                         const std::string& found, const std::string& expected)
{
    parent.problems().push_back({parent.file(), parent.at(key) + "/" + member, found, expected});
}

static std::optional<RegisterField> readOptionalField(Fields& registers, const std::string& key,
                                                      Content content)
{
    const json* value = registers.optional(key);
    if (!value)
        return {};
    Fields fields(*value, registers.file(), registers.at(key), registers.problems());
    RegisterField field = readField(fields, content);
    fields.finish();
    return field;
}

static void requireTable(Fields& registers, const std::string& key, const std::optional<RegisterField>& field,
                         std::vector<RegisterTable> accepted)
{
    if (!field || std::find(accepted.begin(), accepted.end(), field->table) != accepted.end())
        return;
    std::vector<std::string> names;
    for (RegisterTable table : accepted)
        names.push_back(tableNames[static_cast<size_t>(table)]);
    reportMember(registers, key, "table", quoted(json(tableNames[static_cast<size_t>(field->table)])),
                 oneOf(names) + ": it is written");
}

// Off must be exact: a duty register whose nearest raw value to 0 stands for a little heat is refused.
static void requireExactZeroAndFull(Fields& registers, const RegisterField& duty)
{
    std::uint16_t words[2] = {};
    if (!encodeValue(0, duty, words) || std::abs(decodeValue(words, duty)) > 1e-9)
        reportMember(registers, "duty", "offset", json(duty.offset).dump(),
                     "a scale and offset with which a raw value stands for duty 0 exactly");
    if (!encodeValue(1, duty, words))
        reportMember(registers, "duty", "scale", json(duty.scale).dump(),
                     "a scale with which the type can hold duty 1");
}

static void readStatus(Fields& registers, PlateLink& link)
{
    const json* value = registers.optional("status");
    if (!value)
        return;
    Fields fields(*value, registers.file(), registers.at("status"), registers.problems());
    link.status = readField(fields, Content::Bits);
    link.sensorFaultMask = fields.integerOr("sensor_fault_mask", 0, 0, 65535);
    link.watchdogTrippedMask = fields.integerOr("watchdog_tripped_mask", 0, 0, 65535);
    fields.finish();
}

static void readRegisters(Fields& registers, PlateLink& link)
{
    if (const json* value = registers.required("sensor_C", "where the plate's temperature stands")) {
        Fields fields(*value, registers.file(), registers.at("sensor_C"), registers.problems());
        link.sensor = readField(fields, Content::Quantity);
        fields.finish();
    }
    link.duty = readOptionalField(registers, "duty", Content::Quantity);
    link.setpoint = readOptionalField(registers, "setpoint_C", Content::Quantity);
    readStatus(registers, link);
    link.counter = readOptionalField(registers, "counter", Content::Bits);
    link.watchdogS = readOptionalField(registers, "watchdog_s", Content::Quantity);
    link.fan = readOptionalField(registers, "fan", Content::Switch);
    link.stripLifted = readOptionalField(registers, "strip_lifted", Content::Switch);

    const bool byDuty = link.drive == DriveKind::Duty;
    if (byDuty && !link.duty)
        registers.report("duty", "nothing", "the register that \"drive\": \"duty\" writes");
    if (!byDuty && !link.setpoint)
        registers.report("setpoint_C", "nothing", "the register that \"drive\": \"setpoint\" writes");
    if (byDuty && link.duty) {
        requireTable(registers, "duty", link.duty, {RegisterTable::Holding});
        requireExactZeroAndFull(registers, *link.duty);
    }
    if (!byDuty)
        requireTable(registers, "setpoint_C", link.setpoint, {RegisterTable::Holding});
    requireTable(registers, "watchdog_s", link.watchdogS, {RegisterTable::Holding});
    requireTable(registers, "fan", link.fan, {RegisterTable::Coil, RegisterTable::Holding});
    requireTable(registers, "strip_lifted", link.stripLifted, {RegisterTable::Coil, RegisterTable::Holding});
    registers.finish();
}

static void readChannels(Fields& root, PlateLink& link)
{
    const json* list = root.optional("channels");
    if (!list)
        return;
    if (!list->is_array() || list->size() > static_cast<size_t>(maxExtraChannels)) {
        root.report("channels", list->is_array() ? std::to_string(list->size()) + " channels" : quoted(*list),
                    "an array of at most " + std::to_string(maxExtraChannels) + " channels");
        return;
    }
    for (size_t i = 0; i < list->size(); ++i) {
        Fields fields((*list)[i], root.file(), root.at("channels") + "/" + std::to_string(i),
                      root.problems());
        ExtraChannel channel{fields.text("name"), {}};
        channel.field = readField(fields, Content::Quantity);
        for (const ExtraChannel& other : link.channels)
            if (!channel.name.empty() && other.name == channel.name)
                fields.report("name", quoted(json(channel.name)), "a name no other channel has");
        fields.finish();
        link.channels.push_back(channel);
    }
}

static void readNoSensor(Fields& root, PlateLink& link)
{
    const json* list = root.optional("no_sensor_raw");
    if (!list)
        return;
    const std::string expected = "an array of raw values the sensor's type can hold";
    if (!list->is_array()) {
        root.report("no_sensor_raw", quoted(*list), expected);
        return;
    }
    for (size_t i = 0; i < list->size(); ++i) {
        const json& value = (*list)[i];
        if (value.is_number_integer() && typeHolds(value.get<double>(), link.sensor.type))
            link.noSensorRaw.push_back(value.get<long>());
        else
            root.problems().push_back(
                {root.file(), root.at("no_sensor_raw") + "/" + std::to_string(i), quoted(value),
                 "a whole number a " + typeNames[static_cast<size_t>(link.sensor.type)] + " can hold"});
    }
}

static void requireEncodable(Fields& root, const std::string& key, double value,
                             const std::optional<RegisterField>& field)
{
    std::uint16_t words[2];
    if (field && !encodeValue(value, *field, words))
        root.report(key, json(value).dump(), "a value its register can hold");
}

PlateLink readPlateLink(const std::string& text, const std::string& fileName)
{
    std::vector<Problem> problems;
    const auto document = parseDocument(text, fileName, linkFormat, 1, problems);
    if (!document)
        throw BadInput(problems);

    PlateLink link;
    Fields root(*document, fileName, "", problems);
    root.text("format");
    root.integer("version", 1, 1);
    link.name = root.text("name");
    link.host = root.text("host");
    link.port = root.integerOr("port", link.port, 1, 65535);
    link.unit = root.integerOr("unit", link.unit, 0, 255);
    link.drive = static_cast<DriveKind>(root.choice("drive", driveNames));
    if (const json* value = root.required("registers", "an object that names where each quantity stands")) {
        Fields registers(*value, fileName, "/registers", problems);
        readRegisters(registers, link);
    }
    readNoSensor(root, link);
    link.sensorMinC = root.numberOr("sensor_min_C", link.sensorMinC, within(-273.15, 2000));
    link.sensorMaxC = root.numberOr("sensor_max_C", link.sensorMaxC, within(-273.15, 2000));
    if (link.sensorMaxC <= link.sensorMinC)
        root.report("sensor_max_C", json(link.sensorMaxC).dump(),
                    "a number above sensor_min_C, " + json(link.sensorMinC).dump());
    link.setpointFloorC = root.numberOr("setpoint_floor_C", link.setpointFloorC, within(-40, 45));
    link.watchdogSeconds = root.numberOr("watchdog_s", link.watchdogSeconds, within(0.5, 60));
    requireEncodable(root, "watchdog_s", link.watchdogSeconds, link.watchdogS);
    if (link.drive == DriveKind::Setpoint)
        requireEncodable(root, "setpoint_floor_C", link.setpointFloorC, link.setpoint);
    readChannels(root, link);
    root.finish();
    if (!problems.empty())
        throw BadInput(problems);
    return link;
}

static json toJson(const RegisterField& field, Content content)
{
    json value = {{"table", tableNames[static_cast<size_t>(field.table)]}, {"address", field.address}};
    if (content == Content::Switch || isBit(field))
        return value;
    value["type"] = typeNames[static_cast<size_t>(field.type)];
    value["order"] = orderNames[static_cast<size_t>(field.order)];
    if (content == Content::Quantity) {
        value["scale"] = field.scale;
        value["offset"] = field.offset;
    }
    return value;
}

std::string toJsonText(const PlateLink& link)
{
    json registers = {{"sensor_C", toJson(link.sensor, Content::Quantity)}};
    const auto put = [&](const char* key, const std::optional<RegisterField>& field, Content content) {
        if (field)
            registers[key] = toJson(*field, content);
    };
    put("duty", link.duty, Content::Quantity);
    put("setpoint_C", link.setpoint, Content::Quantity);
    put("status", link.status, Content::Bits);
    if (link.status) {
        registers["status"]["sensor_fault_mask"] = link.sensorFaultMask;
        registers["status"]["watchdog_tripped_mask"] = link.watchdogTrippedMask;
    }
    put("counter", link.counter, Content::Bits);
    put("watchdog_s", link.watchdogS, Content::Quantity);
    put("fan", link.fan, Content::Switch);
    put("strip_lifted", link.stripLifted, Content::Switch);

    json channels = json::array();
    for (const ExtraChannel& channel : link.channels) {
        channels.push_back(toJson(channel.field, Content::Quantity));
        channels.back()["name"] = channel.name;
    }
    return json{{"format", linkFormat},
                {"version", 1},
                {"name", link.name},
                {"host", link.host},
                {"port", link.port},
                {"unit", link.unit},
                {"drive", driveNames[static_cast<size_t>(link.drive)]},
                {"registers", registers},
                {"no_sensor_raw", link.noSensorRaw},
                {"sensor_min_C", link.sensorMinC},
                {"sensor_max_C", link.sensorMaxC},
                {"setpoint_floor_C", link.setpointFloorC},
                {"watchdog_s", link.watchdogSeconds},
                {"channels", channels}}
               .dump(2) +
           "\n";
}

} // namespace stripwright
