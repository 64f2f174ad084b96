#include "link/plate_link_json.h"
#include "link/register_codec.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using nlohmann::json;

static const std::vector<std::string> tableNames = {"coil", "discrete", "input", "holding"};
static const std::vector<std::string> typeNames = {"int16", "uint16", "int32", "float32"};
static const std::vector<std::string> orderNames = {"ABCD", "CDAB", "BADC", "DCBA"};

const std::string& nameOf(RegisterTable table)
{
    return tableNames[static_cast<size_t>(table)];
}

const std::string& nameOf(RegisterType type)
{
    return typeNames[static_cast<size_t>(type)];
}

const std::string& nameOf(WordOrder order)
{
    return orderNames[static_cast<size_t>(order)];
}

static bool isBit(const RegisterField& field)
{
    return field.table == RegisterTable::Coil || field.table == RegisterTable::Discrete;
}

std::optional<int> readUnit(Fields& fields, bool onSerialLine)
{
    const json* value = fields.optional("unit");
    if (!value)
        return {};
    if (onSerialLine)
        return fields.integer("unit", 1, 247);
    const int unit = fields.integer("unit", 0, 255);
    if (unit > 247 && unit < 255)
        fields.report("unit", std::to_string(unit), "0 to 247, or 255: the others are reserved");
    return unit;
}

struct DocumentNumber {
    RegisterTable table;
    int address;
};

// Manuals count registers from 1 behind a digit that says the table: 40001 is holding register 0.
static std::optional<DocumentNumber> parsed(const std::string& text)
{
    const bool digits =
        !text.empty() && std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
    if (!digits || (text.size() != 5 && text.size() != 6))
        return {};
    const int number = std::stoi(text.substr(1));
    if (number < 1 || number > 65536)
        return {};
    switch (text[0]) {
    case '0':
        return DocumentNumber{RegisterTable::Coil, number - 1};
    case '1':
        return DocumentNumber{RegisterTable::Discrete, number - 1};
    case '3':
        return DocumentNumber{RegisterTable::Input, number - 1};
    case '4':
        return DocumentNumber{RegisterTable::Holding, number - 1};
    default:
        return {};
    }
}

// The key that says the address.
static std::string readPlace(Fields& fields, RegisterField& field)
{
    const json* value = fields.optional("document_number");
    if (!value) {
        field.table = static_cast<RegisterTable>(fields.choice("table", tableNames));
        field.address = fields.integer("address", 0, 65535);
        return "address";
    }
    if (const json* address = fields.optional("address"))
        fields.report("address", quoted(*address),
                      "no \"address\" beside \"document_number\", which says the same place counted from 1");
    const auto number = value->is_string() ? parsed(value->get<std::string>()) : std::nullopt;
    if (!number) {
        fields.report("document_number", quoted(*value),
                      "a text of 5 or 6 digits such as \"40001\": 0 coil, 1 discrete input, 3 input register "
                      "or 4 holding register, then its number from 1 to 65536");
        fields.choice("table", tableNames, 0);
        field.table = RegisterTable::Holding; // which every quantity may be: no second problem comes of this
        return "document_number";
    }
    field.address = number->address;
    field.table = number->table;
    const int table = fields.choice("table", tableNames, static_cast<int>(number->table));
    if (table != static_cast<int>(number->table))
        fields.report("table", quoted(json(tableNames[static_cast<size_t>(table)])),
                      quoted(json(nameOf(number->table))) + ", as the first digit of document_number " +
                          quoted(*value) + " says, or no \"table\"");
    return "document_number";
}

RegisterField readField(Fields& fields, Content content, bool onSerialLine)
{
    RegisterField field;
    const std::string addressKey = readPlace(fields, field);
    field.unit = readUnit(fields, onSerialLine);
    if (content == Content::Switch || (isBit(field) && content != Content::Quantity)) {
        field.type = RegisterType::Uint16;
        return field;
    }
    if (isBit(field))
        fields.report("table", quoted(json(nameOf(field.table))), "one of input, holding");
    field.type = static_cast<RegisterType>(fields.choice("type", typeNames));
    if (content == Content::Bits && field.type == RegisterType::Float32)
        fields.report("type", "\"float32\"", "one of int16, uint16, int32");
    field.order = static_cast<WordOrder>(fields.choice("order", orderNames, 0));
    if (content != Content::Bits) {
        field.scale = fields.numberOr("scale", 1);
        field.offset = fields.numberOr("offset", 0);
        if (field.scale == 0) {
            fields.report("scale", "0", "a number that is not 0");
            field.scale = 1;
        }
    }
    if (field.address + wordsOf(field) > 65536)
        fields.report(addressKey, std::to_string(field.address),
                      "at most 65534: the value takes two registers and 65535 is the last");
    return field;
}

static void reportMember(Fields& parent, const std::string& key, const std::string& member,
                         const std::string& found, const std::string& expected)
{
    parent.problems().push_back({parent.file(), parent.at(key) + "/" + member, found, expected});
}

static std::optional<RegisterField> readOptionalField(Fields& registers, const std::string& key,
                                                      Content content, bool onSerialLine)
{
    const json* value = registers.optional(key);
    if (!value)
        return {};
    Fields fields(*value, registers.file(), registers.at(key), registers.problems());
    RegisterField field = readField(fields, content, onSerialLine);
    fields.finish();
    return field;
}

// A holding register that is switched has no scale: it is written 0 or 1.
static void readDuty(Fields& registers, PlateLink& link, bool driveKnown)
{
    const json* value = registers.optional("duty");
    if (!value)
        return;
    Fields fields(*value, registers.file(), registers.at("duty"), registers.problems());
    link.switched = fields.flagOr("switched", false);
    link.duty = readField(fields, link.switched ? Content::Switch : Content::Duty, link.serial.has_value());
    if (link.switched && driveKnown && link.drive != DriveKind::Duty)
        fields.report("switched", "true", "no \"switched\": this plate is not driven by its duty");
    fields.finish();
}

static void requireTable(Fields& registers, const std::string& key, const std::optional<RegisterField>& field,
                         std::vector<RegisterTable> accepted)
{
    if (!field || std::find(accepted.begin(), accepted.end(), field->table) != accepted.end())
        return;
    std::vector<std::string> names;
    for (RegisterTable table : accepted)
        names.push_back(nameOf(table));
    reportMember(registers, key, "table", quoted(json(nameOf(field->table))),
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
    link.status = readField(fields, Content::Bits, link.serial.has_value());
    link.sensorFaultMask = fields.integerOr("sensor_fault_mask", 0, 0, 65535);
    link.watchdogTrippedMask = fields.integerOr("watchdog_tripped_mask", 0, 0, 65535);
    link.stripSensorFaultMask = fields.integerOr("strip_sensor_fault_mask", 0, 0, 65535);
    fields.finish();
}

// What is written is a number as it stands; nothing is read there, so a register that reads as something else
// does no harm.
static void readClearWatchdog(Fields& registers, PlateLink& link)
{
    const json* value = registers.optional("clear_watchdog");
    if (!value)
        return;
    Fields fields(*value, registers.file(), registers.at("clear_watchdog"), registers.problems());
    CommandField command{readField(fields, Content::Switch, link.serial.has_value())};
    command.value = fields.integer("value", 0, isBit(command.field) ? 1 : 65535);
    fields.finish();
    link.clearWatchdog = command;
    requireTable(registers, "clear_watchdog", command.field, {RegisterTable::Coil, RegisterTable::Holding});
    if (link.watchdogTrippedMask == 0)
        registers.report("clear_watchdog", quoted(*value),
                         "\"watchdog_tripped_mask\" under \"status\" beside it: it is written when that bit "
                         "is set");
}

static void requireDriven(Fields& registers, const PlateLink& link)
{
    using enum RegisterTable;
    const bool byDuty = link.drive == DriveKind::Duty;
    if (byDuty && !link.duty)
        registers.report("duty", "nothing", "the register that \"drive\": \"duty\" writes");
    if (!byDuty && !link.setpoint)
        registers.report("setpoint_C", "nothing", "the register that \"drive\": \"setpoint\" writes");
    if (byDuty && link.duty) {
        requireTable(registers, "duty", link.duty, {Holding, Coil});
        if (link.duty->table != Coil)
            requireExactZeroAndFull(registers, *link.duty);
    }
    if (!byDuty)
        requireTable(registers, "setpoint_C", link.setpoint, {Holding});
}

static void requireWritable(Fields& registers, const PlateLink& link)
{
    using enum RegisterTable;
    requireTable(registers, "watchdog_s", link.watchdogS, {Holding});
    requireTable(registers, "fan", link.fan, {Coil, Holding});
    requireTable(registers, "strip_lifted", link.stripLifted, {Coil, Holding});
    requireTable(registers, "enable", link.enable, {Coil, Holding});
}

void readRegisters(Fields& registers, PlateLink& link, bool driveKnown)
{
    const bool serial = link.serial.has_value();
    if (const json* value = registers.required("sensor_C", "where the plate's temperature stands")) {
        Fields fields(*value, registers.file(), registers.at("sensor_C"), registers.problems());
        link.sensor = readField(fields, Content::Quantity, serial);
        fields.finish();
    }
    readDuty(registers, link, driveKnown);
    link.setpoint = readOptionalField(registers, "setpoint_C", Content::Quantity, serial);
    readStatus(registers, link);
    link.counter = readOptionalField(registers, "counter", Content::Bits, serial);
    link.watchdogS = readOptionalField(registers, "watchdog_s", Content::Quantity, serial);
    link.fan = readOptionalField(registers, "fan", Content::Switch, serial);
    link.stripLifted = readOptionalField(registers, "strip_lifted", Content::Switch, serial);
    link.enable = readOptionalField(registers, "enable", Content::Switch, serial);
    link.stripSensor = readOptionalField(registers, "strip_sensor_C", Content::Quantity, serial);
    readClearWatchdog(registers, link);
    if (driveKnown)
        requireDriven(registers, link);
    requireWritable(registers, link);
    registers.finish();
}

json toJson(const RegisterField& field, Content content)
{
    json value = {{"table", nameOf(field.table)}, {"address", field.address}};
    if (field.unit)
        value["unit"] = *field.unit;
    if (content == Content::Switch || isBit(field))
        return value;
    value["type"] = nameOf(field.type);
    value["order"] = nameOf(field.order);
    if (content != Content::Bits) {
        value["scale"] = field.scale;
        value["offset"] = field.offset;
    }
    return value;
}

json registersToJson(const PlateLink& link)
{
    json registers = {{"sensor_C", toJson(link.sensor, Content::Quantity)}};
    const auto put = [&](const char* key, const std::optional<RegisterField>& field, Content content) {
        if (field)
            registers[key] = toJson(*field, content);
    };
    put("duty", link.duty, link.switched ? Content::Switch : Content::Duty);
    if (link.duty && link.switched)
        registers["duty"]["switched"] = true;
    put("setpoint_C", link.setpoint, Content::Quantity);
    put("status", link.status, Content::Bits);
    if (link.status) {
        registers["status"]["sensor_fault_mask"] = link.sensorFaultMask;
        registers["status"]["watchdog_tripped_mask"] = link.watchdogTrippedMask;
        registers["status"]["strip_sensor_fault_mask"] = link.stripSensorFaultMask;
    }
    put("counter", link.counter, Content::Bits);
    put("watchdog_s", link.watchdogS, Content::Quantity);
    put("fan", link.fan, Content::Switch);
    put("strip_lifted", link.stripLifted, Content::Switch);
    put("enable", link.enable, Content::Switch);
    put("strip_sensor_C", link.stripSensor, Content::Quantity);
    if (link.clearWatchdog) {
        registers["clear_watchdog"] = toJson(link.clearWatchdog->field, Content::Switch);
        registers["clear_watchdog"]["value"] = link.clearWatchdog->value;
    }
    return registers;
}

} // namespace stripwright
