#include "models/plate_draft_json.h"

#include "materials/json_fields.h"

#include <QCoreApplication>
#include <QFileInfo>

#include <tuple>

namespace stripwright {

using nlohmann::json;

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("plateDraft", text);
}

QString textAt(const json& object, const char* key, const char* absent = "")
{
    return QString::fromStdString(object.value(key, std::string(absent)));
}

/// Quantity: a scaled number. Bits: a whole number. Switch: 0 or 1, which has no coding.
enum class Content { Quantity, Bits, Switch };

bool isTwoWords(const QString& type)
{
    return type.endsWith(QLatin1String("32"));
}

// Whoever proves a plate finds out whatever a file leaves open of how its sensor reads.
bool meaningGiven(const json& sensor)
{
    return sensor.contains("type") && sensor.contains("scale") &&
           (sensor.contains("order") || !isTwoWords(textAt(sensor, "type")));
}

void putCoding(json& value, const RegisterDraft& at, Content content)
{
    const bool none = content == Content::Switch || isBit(at), open = at.coding.isEmpty();
    if (none || (open && meaningGiven(value)))
        for (const char* key : {"type", "order", "scale", "offset"})
            value.erase(key);
    if (none || open)
        return;
    value["type"] = at.coding.section(' ', 0, 0).toStdString();
    if (at.coding.contains(' '))
        value["order"] = at.coding.section(' ', 1).toStdString();
    else
        value.erase("order");
    if (content == Content::Quantity)
        value["scale"] = at.scale;
}

void putPlace(json& value, const RegisterDraft& at)
{
    value.erase("document_number");
    value["table"] = at.table.toStdString();
    value["address"] = *at.address;
    value.erase("unit");
    if (at.unit)
        value["unit"] = *at.unit;
}

// What else stands there stays.
json& objectAt(json& parent, const char* key)
{
    json& value = parent[key];
    if (!value.is_object())
        value = json::object();
    return value;
}

void put(json& registers, const char* key, const RegisterDraft& at, Content content)
{
    if (!at.address) {
        registers.erase(key);
        return;
    }
    json& value = objectAt(registers, key);
    putPlace(value, at);
    putCoding(value, at, content);
}

// A figure of 0 says the same as none.
void putFigure(json& link, const char* key, double value)
{
    if (value > 0)
        link[key] = value;
    else
        link.erase(key);
}

void putHeat(json& registers, const PlateDraft& draft)
{
    using Drive = PlateDraft::Drive;
    if (draft.drive == Drive::Setpoint) {
        put(registers, "setpoint_C", draft.heat, Content::Quantity);
        put(registers, "duty", draft.toldDuty, Content::Quantity);
    } else {
        const bool switched = draft.drive == Drive::Switch && !isBit(draft.heat);
        put(registers, "duty", draft.heat, switched ? Content::Switch : Content::Quantity);
        if (draft.heat.address && switched)
            registers["duty"]["switched"] = true;
    }
    if (const auto duty = registers.find("duty");
        duty != registers.end() && (draft.drive != Drive::Switch || isBit(draft.heat)))
        duty->erase("switched");
}

json settingsOf(const PlateDraft& draft)
{
    json list = json::array();
    for (const SettingDraft& setting : draft.settings) {
        if (!setting.at.address)
            continue;
        json value = setting.kept.is_object() ? setting.kept : json::object();
        value["name"] = setting.name.trimmed().toStdString();
        value["value"] = setting.value;
        putPlace(value, setting.at);
        putCoding(value, setting.at, Content::Quantity);
        list.push_back(value);
    }
    return list;
}

void putRegisters(json& registers, const PlateDraft& draft)
{
    put(registers, "sensor_C", draft.sensor, Content::Quantity);
    putHeat(registers, draft);
    put(registers, "status", draft.status, Content::Bits);
    if (draft.status.address) {
        json& status = registers["status"];
        status["sensor_fault_mask"] = draft.sensorFaultMask;
        status["watchdog_tripped_mask"] = draft.watchdogMask;
        status["strip_sensor_fault_mask"] = draft.stripFaultMask;
    }
    put(registers, "clear_watchdog", draft.clearWatchdog, Content::Switch);
    if (draft.clearWatchdog.address)
        registers["clear_watchdog"]["value"] = draft.clearValue;
    put(registers, "counter", draft.counter, Content::Bits);
    put(registers, "watchdog_s", draft.watchdog, Content::Quantity);
    put(registers, "enable", draft.enable, Content::Switch);
    put(registers, "strip_sensor_C", draft.stripSensor, Content::Quantity);
    put(registers, "fan", draft.fan, Content::Switch);
}

RegisterDraft placeIn(const json& value, RegisterDraft at)
{
    QString unused;
    const auto number = readManualNumber(textAt(value, "document_number"), unused);
    at.table = number ? number->table : textAt(value, "table", "holding");
    at.address = number ? number->address : value.value("address", 0);
    at.unit.reset();
    if (value.contains("unit"))
        at.unit = value.value("unit", 1);
    const QString order = textAt(value, "order", "ABCD");
    at.coding = textAt(value, "type");
    if (isTwoWords(at.coding) || (!at.coding.isEmpty() && order != QLatin1String("ABCD")))
        at.coding += ' ' + order;
    at.scale = value.value("scale", 1.0);
    return at;
}

RegisterDraft readPlace(const json& registers, const char* key, const RegisterDraft& absent)
{
    const auto found = registers.find(key);
    return found == registers.end() || !found->is_object() ? absent : placeIn(*found, absent);
}

void readHeat(const json& link, const json& registers, PlateDraft& draft)
{
    using Drive = PlateDraft::Drive;
    const bool bySetpoint = link.value("drive", "duty") == "setpoint";
    const json duty = registers.value("duty", json::object());
    draft.heat = readPlace(registers, bySetpoint ? "setpoint_C" : "duty", draft.heat);
    draft.drive = bySetpoint                                           ? Drive::Setpoint
                  : isBit(draft.heat) || duty.value("switched", false) ? Drive::Switch
                                                                       : Drive::Duty;
    if (bySetpoint)
        draft.toldDuty = readPlace(registers, "duty", draft.toldDuty);
    draft.offC = link.value("setpoint_floor_C", draft.offC);
    draft.leastOnS = link.value("least_on_s", draft.leastOnS);
}

void readStatus(const json& registers, PlateDraft& draft)
{
    draft.status = readPlace(registers, "status", draft.status);
    const json status = registers.value("status", json::object());
    draft.sensorFaultMask = status.value("sensor_fault_mask", 0);
    draft.watchdogMask = status.value("watchdog_tripped_mask", 0);
    draft.stripFaultMask = status.value("strip_sensor_fault_mask", 0);
    draft.clearWatchdog = readPlace(registers, "clear_watchdog", draft.clearWatchdog);
    draft.clearValue = registers.value("clear_watchdog", json::object()).value("value", draft.clearValue);
}

bool isOtherPlate(const PlateDraft& was, const PlateDraft& now)
{
    const auto line = [](const PlateDraft& of) {
        return of.serial ? std::tuple(true, of.device.trimmed(), 0, of.unit)
                         : std::tuple(false, of.host.trimmed(), of.port, of.unit);
    };
    const auto place = [](const RegisterDraft& at) { return std::tuple(at.table, at.address, at.unit); };
    return line(was) != line(now) || was.drive != now.drive || place(was.sensor) != place(now.sensor) ||
           place(was.heat) != place(now.heat);
}

} // namespace

json toJson(const PlateDraft& draft)
{
    const bool bySetpoint = draft.drive == PlateDraft::Drive::Setpoint;
    json link = draft.kept.is_object() ? draft.kept : json::object();
    link["format"] = "stripwright-plate-link";
    link["version"] = 1;
    link["name"] = draft.name.trimmed().toStdString();
    link["unit"] = draft.unit;
    link["drive"] = bySetpoint ? "setpoint" : "duty";
    link["watchdog_s"] = draft.watchdogS;
    putRegisters(objectAt(link, "registers"), draft);
    link.erase("own_ramp_C_per_s");
    if (bySetpoint)
        link["setpoint_floor_C"] = draft.offC;
    if (bySetpoint && draft.ownRampCPerS)
        link["own_ramp_C_per_s"] = *draft.ownRampCPerS;
    putFigure(link, "least_on_s", draft.drive == PlateDraft::Drive::Switch ? draft.leastOnS : 0);
    putFigure(link, "reading_every_s", draft.readingEveryS);
    link.erase("plate_max_C");
    if (draft.plateMaxC)
        link["plate_max_C"] = *draft.plateMaxC;
    link.erase("settings");
    if (json settings = settingsOf(draft); !settings.empty())
        link["settings"] = std::move(settings);
    if (draft.serial) {
        link.erase("host");
        link.erase("port");
        objectAt(link, "serial")
            .update({{"device", draft.device.trimmed().toStdString()},
                     {"baud", draft.baud},
                     {"frame", draft.frame.toStdString()}});
    } else {
        link.erase("serial");
        link["host"] = draft.host.trimmed().toStdString();
        link["port"] = draft.port;
    }
    if (draft.kept.is_object() && isOtherPlate(draftOf(draft.kept), draft))
        for (const char* key : {"simulated", "identified", "watchdog_proven_s"})
            link.erase(key);
    return link;
}

PlateDraft draftOf(const json& link)
{
    PlateDraft draft;
    draft.kept = link;
    draft.name = textAt(link, "name");
    if (const auto serial = link.find("serial"); serial != link.end()) {
        draft.serial = true;
        draft.device = textAt(*serial, "device");
        draft.baud = serial->value("baud", draft.baud);
        draft.frame = textAt(*serial, "frame", "8E1");
    } else {
        draft.host = textAt(link, "host");
        draft.port = link.value("port", draft.port);
    }
    draft.unit = link.value("unit", draft.unit);
    const json registers = link.value("registers", json::object());
    draft.sensor = readPlace(registers, "sensor_C", draft.sensor);
    if (!meaningGiven(registers.value("sensor_C", json::object())))
        draft.sensor.coding.clear();
    readHeat(link, registers, draft);
    draft.watchdog = readPlace(registers, "watchdog_s", draft.watchdog);
    draft.watchdogS = link.value("watchdog_s", draft.watchdogS);
    readStatus(registers, draft);
    draft.counter = readPlace(registers, "counter", draft.counter);
    draft.enable = readPlace(registers, "enable", draft.enable);
    draft.stripSensor = readPlace(registers, "strip_sensor_C", draft.stripSensor);
    draft.fan = readPlace(registers, "fan", draft.fan);
    draft.readingEveryS = link.value("reading_every_s", draft.readingEveryS);
    if (link.contains("own_ramp_C_per_s"))
        draft.ownRampCPerS = link["own_ramp_C_per_s"].get<double>();
    if (link.contains("plate_max_C"))
        draft.plateMaxC = link["plate_max_C"].get<double>();
    for (const json& one : link.value("settings", json::array()))
        draft.settings.push_back(
            {textAt(one, "name"), placeIn(one, RegisterDraft{}), one.value("value", 0.0), one});
    return draft;
}

std::optional<PlateDraft> readPlateDraft(const QString& file, QString& why)
{
    const std::string name = QFileInfo(file).fileName().toStdString();
    try {
        std::vector<Problem> problems;
        const auto link =
            parseDocument(readTextFile(file.toStdString()), name, "stripwright-plate-link", 1, problems);
        if (!link)
            throw BadInput(problems);
        return draftOf(*link);
    } catch (const BadInput& bad) {
        why = QString::fromStdString(bad.problems().front().text());
    } catch (const json::exception&) {
        why = say("%1: a key holds another kind of value than it must: \"app/start check\" names it.")
                  .arg(QString::fromStdString(name));
    }
    return {};
}

} // namespace stripwright
