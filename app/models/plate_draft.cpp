#include "models/plate_draft.h"

#include <nlohmann/json.hpp>

#include <QCoreApplication>
#include <QDir>

#include <algorithm>

namespace stripwright {

using nlohmann::json;

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("plateDraft", text);
}

const char* const tables[] = {"coil", "discrete", "", "input", "holding"}; // by the manual's first digit

void putCoding(json& value, const RegisterDraft& at, bool scaled)
{
    if (isBit(at) || at.coding.isEmpty())
        return;
    value["type"] = at.coding.section(' ', 0, 0).toStdString();
    if (at.coding.contains(' '))
        value["order"] = at.coding.section(' ', 1).toStdString();
    if (scaled)
        value["scale"] = at.scale;
}

json place(const RegisterDraft& at)
{
    json value = {{"table", at.table.toStdString()}, {"address", *at.address}};
    if (at.unit)
        value["unit"] = *at.unit;
    return value;
}

enum class Content { Quantity, Bits, Switch };

void put(json& registers, const char* key, const RegisterDraft& at, Content content)
{
    if (!at.address)
        return;
    json value = place(at);
    if (content != Content::Switch)
        putCoding(value, at, content == Content::Quantity);
    registers[key] = value;
}

int maskOf(std::optional<int> bit)
{
    return bit ? 1 << *bit : 0;
}

std::optional<int> bitOf(int mask)
{
    for (int bit = 0; bit < 16; ++bit)
        if (mask & (1 << bit))
            return bit;
    return {};
}

RegisterDraft readPlace(const json& registers, const char* key, RegisterDraft absent)
{
    const auto found = registers.find(key);
    if (found == registers.end() || !found->is_object())
        return absent;
    RegisterDraft at;
    at.table = QString::fromStdString(found->value("table", "holding"));
    if (found->contains("address"))
        at.address = found->value("address", 0);
    if (found->contains("unit"))
        at.unit = found->value("unit", 1);
    at.coding = QString::fromStdString(found->value("type", ""));
    if (at.coding.endsWith(QLatin1String("32")))
        at.coding += ' ' + QString::fromStdString(found->value("order", "ABCD"));
    at.scale = found->value("scale", 1.0);
    return at;
}

} // namespace

bool isBit(const RegisterDraft& at)
{
    return at.table == QLatin1String("coil") || at.table == QLatin1String("discrete");
}

QStringList missingIn(const PlateDraft& draft)
{
    QStringList missing;
    if (draft.name.trimmed().isEmpty())
        missing += say("a name");
    if (draft.serial && draft.device.trimmed().isEmpty())
        missing += say("the device of the serial line");
    if (draft.serial && draft.baud == 0)
        missing += say("baud and frame");
    if (!draft.serial && draft.host.trimmed().isEmpty())
        missing += say("the host");
    if (!draft.sensor.address)
        missing += say("where the sensor stands");
    if (!draft.heat.address)
        missing += say("where the heat is driven");
    return missing;
}

json toJson(const PlateDraft& draft)
{
    json registers = json::object();
    put(registers, "sensor_C", draft.sensor, Content::Quantity);
    put(registers, draft.drive == PlateDraft::Drive::Setpoint ? "setpoint_C" : "duty", draft.heat,
        Content::Quantity);
    put(registers, "status", draft.status, Content::Bits);
    if (draft.status.address) {
        registers["status"]["sensor_fault_mask"] = maskOf(draft.sensorFaultBit);
        registers["status"]["watchdog_tripped_mask"] = maskOf(draft.watchdogBit);
    }
    put(registers, "counter", draft.counter, Content::Bits);
    put(registers, "watchdog_s", draft.watchdog, Content::Quantity);
    put(registers, "enable", draft.enable, Content::Switch);
    put(registers, "strip_sensor_C", draft.stripSensor, Content::Quantity);
    put(registers, "fan", draft.fan, Content::Switch);

    json link = {{"format", "stripwright-plate-link"},
                 {"version", 1},
                 {"name", draft.name.trimmed().toStdString()},
                 {"unit", draft.unit},
                 {"drive", draft.drive == PlateDraft::Drive::Setpoint ? "setpoint" : "duty"},
                 {"registers", registers},
                 {"watchdog_s", draft.watchdogS}};
    if (draft.drive == PlateDraft::Drive::Setpoint)
        link["setpoint_floor_C"] = draft.offC;
    if (draft.simulated)
        link["simulated"] = true;
    if (draft.plateMaxC)
        link["plate_max_C"] = *draft.plateMaxC;
    if (draft.sensorMaxC)
        link["sensor_max_C"] = *draft.sensorMaxC;
    if (!draft.noSensorRaw.empty())
        link["no_sensor_raw"] = draft.noSensorRaw;
    if (draft.serial) {
        link["serial"] = {{"device", draft.device.trimmed().toStdString()},
                          {"baud", draft.baud},
                          {"frame", draft.frame.toStdString()}};
    } else {
        link["host"] = draft.host.trimmed().toStdString();
        link["port"] = draft.port;
    }
    return link;
}

PlateDraft draftOf(const json& link)
{
    PlateDraft draft;
    draft.name = QString::fromStdString(link.value("name", ""));
    if (const auto serial = link.find("serial"); serial != link.end()) {
        draft.serial = true;
        draft.device = QString::fromStdString(serial->value("device", ""));
        draft.baud = serial->value("baud", draft.baud);
        draft.frame = QString::fromStdString(serial->value("frame", "8E1"));
    } else {
        draft.host = QString::fromStdString(link.value("host", ""));
        draft.port = link.value("port", draft.port);
    }
    draft.unit = link.value("unit", draft.unit);
    const json registers = link.value("registers", json::object());
    draft.sensor = readPlace(registers, "sensor_C", draft.sensor);
    const bool bySetpoint = link.value("drive", "duty") == "setpoint";
    draft.heat = readPlace(registers, bySetpoint ? "setpoint_C" : "duty", draft.heat);
    draft.drive = bySetpoint          ? PlateDraft::Drive::Setpoint
                  : isBit(draft.heat) ? PlateDraft::Drive::Switch
                                      : PlateDraft::Drive::Duty;
    draft.offC = link.value("setpoint_floor_C", draft.offC);
    draft.watchdog = readPlace(registers, "watchdog_s", draft.watchdog);
    draft.watchdogS = link.value("watchdog_s", draft.watchdogS);
    draft.status = readPlace(registers, "status", draft.status);
    if (draft.status.address) {
        draft.sensorFaultBit = bitOf(registers["status"].value("sensor_fault_mask", 0));
        draft.watchdogBit = bitOf(registers["status"].value("watchdog_tripped_mask", 0));
    }
    draft.counter = readPlace(registers, "counter", draft.counter);
    draft.enable = readPlace(registers, "enable", draft.enable);
    draft.stripSensor = readPlace(registers, "strip_sensor_C", draft.stripSensor);
    draft.fan = readPlace(registers, "fan", draft.fan);
    draft.simulated = link.value("simulated", false);
    if (link.contains("plate_max_C"))
        draft.plateMaxC = link["plate_max_C"].get<double>();
    if (link.contains("sensor_max_C"))
        draft.sensorMaxC = link["sensor_max_C"].get<double>();
    draft.noSensorRaw = link.value("no_sensor_raw", std::vector<long>());
    return draft;
}

QStringList serialDevices()
{
    QStringList found;
    for (const char* folder : {"/dev/serial/by-id", "/dev"}) {
        const QDir dir(folder);
        const QStringList filters = QLatin1String(folder) == QLatin1String("/dev")
                                        ? QStringList{"ttyUSB*", "ttyACM*", "ttyS*"}
                                        : QStringList{"*"};
        for (const QString& name : dir.entryList(filters, QDir::System | QDir::Files, QDir::Name))
            found += dir.filePath(name);
    }
    return found;
}

QString manualNumber(const QString& table, int address)
{
    const auto at = std::ranges::find(tables, table.toStdString());
    return QString::number(at - std::begin(tables)) +
           QStringLiteral("%1").arg(address + 1, address < 9999 ? 4 : 5, 10, QChar('0'));
}

std::optional<ManualNumber> readManualNumber(const QString& typed, QString& why)
{
    const QString text = typed.trimmed();
    const bool digits = std::ranges::all_of(text, [](QChar c) { return c >= '0' && c <= '9'; });
    const int digit = text.isEmpty() ? -1 : text[0].digitValue();
    const int number = text.mid(1).toInt();
    const bool named = digit == 0 || digit == 1 || digit == 3 || digit == 4;
    if (digits && named && (text.size() == 5 || text.size() == 6) && number >= 1 && number <= 65536)
        return ManualNumber{tables[digit], number - 1};
    why = say("“%1” is no number of a manual such as 40001: first 0 coil, 1 discrete input, 3 input register "
              "or 4 holding register, then 4 or 5 digits counted from 1. An address from 0 goes into the "
              "field before.")
              .arg(text);
    return {};
}

} // namespace stripwright
