#include "bench/plate_map.h"

#include "link/register_codec.h"

#include <algorithm>
#include <cstdio>

namespace stripwright {

namespace {

enum class Drives { Both, Duty, Setpoint };

struct Row {
    Quantity quantity;
    RegisterField at;
    const char* note = "";
    Drives drives = Drives::Both;
};

struct Table {
    const char* name;
    const char* what;
    int unit;
    long noSensorRaw;
    bool gapsRefused;
    Drives drives;
    std::vector<Row> rows; // Channel: the first of them
};

using enum RegisterTable;
using enum RegisterType;
using enum WordOrder;
using enum Quantity;

RegisterField words(RegisterTable table, int address, RegisterType type, double scale = 1,
                    WordOrder order = ABCD)
{
    return {.table = table, .address = address, .type = type, .order = order, .scale = scale};
}

RegisterField bit(RegisterTable table, int address)
{
    return {.table = table, .address = address, .type = Uint16};
}

RegisterField ofUnit(int unit, RegisterField field)
{
    field.unit = unit;
    return field;
}

const char* const written = "0 to 1, written";
const char* const applied = "what the heater gets, read only";
const char* const ramp = "0 to 100 C/s, written; 0: off";
const char* const hands = "tells the simulation what the hands did";
const char* const truths = "truth_plate_C and so on, which no real plate has";
const char* const hasCut = "1: the watchdog has cut the heater";

const std::vector<Table>& tables()
{
    static const std::vector<Table> all = {
        {"plain",
         "one device, whole numbers in tenths",
         1,
         32767,
         false,
         Drives::Both,
         {{Sensor, words(Input, 0, Int16, 0.1), "32767: no sensor"},
          {Status, words(Input, 1, Uint16), "1 sensor fault, 2 watchdog has cut the heater"},
          {Counter, words(Input, 2, Uint16), "one a sensor sample, wraps"},
          {Duty, words(Holding, 0, Uint16, 0.0001), written, Drives::Duty},
          {Duty, words(Input, 3, Uint16, 0.0001), applied, Drives::Setpoint},
          {Setpoint, words(Holding, 1, Int16, 0.1), "0 to 400, written; 0: off", Drives::Setpoint},
          {Watchdog, words(Holding, 2, Uint16, 0.1), "0.5 to 60, written"},
          {OwnRamp, words(Holding, 4, Uint16, 0.01), ramp, Drives::Setpoint},
          {Fan, bit(Coil, 0)},
          {StripLifted, bit(Coil, 1), hands},
          {Channel, words(Input, 10, Float32), truths}}},
        {"floats",
         "one device, floats with the low word first, all in holding registers; enable output and "
         "strip sensor",
         1,
         -9999,
         false,
         Drives::Both,
         {{Sensor, words(Holding, 0, Float32, 1, CDAB), "-9999: no sensor"},
          {Setpoint, words(Holding, 2, Float32, 1, CDAB), "0 to 400, written; 0: off", Drives::Setpoint},
          {Duty, words(Holding, 4, Float32, 1, CDAB), written, Drives::Duty},
          {Duty, words(Holding, 4, Float32, 1, CDAB), applied, Drives::Setpoint},
          {Watchdog, words(Holding, 6, Float32, 1, CDAB), "0.5 to 60, written"},
          {Status, words(Holding, 8, Uint16), "1 sensor fault, 2 watchdog has cut the heater"},
          {Counter, words(Holding, 9, Uint16), "one a sensor sample, wraps"},
          {StripSensor, words(Holding, 10, Float32, 1, CDAB), "-9999: no sensor"},
          {Enable, bit(Coil, 0), "off: no heat whatever the duty"},
          {Fan, bit(Coil, 1)},
          {StripLifted, bit(Coil, 2), hands},
          {OwnRamp, words(Holding, 100, Float32, 1, CDAB), ramp, Drives::Setpoint},
          {Channel, words(Holding, 12, Float32, 1, CDAB), truths}}},
        {"sixteenths",
         "one device, 32 bits with swapped bytes, sixteenths of a kelvin, status as a discrete "
         "input; refuses addresses that stand for nothing",
         17,
         -32768,
         true,
         Drives::Both,
         {{Sensor, words(Input, 1000, Int32, 1 / 16.0, DCBA), "-32768: no sensor"},
          {Counter, words(Input, 1002, Int32, 1, DCBA), "one a sensor sample, wraps at 65536"},
          {Status, bit(Discrete, 5), hasCut},
          {Setpoint, words(Holding, 2000, Int32, 1 / 16.0, DCBA), "0 to 400, written; 0: off",
           Drives::Setpoint},
          {Duty, words(Holding, 2002, Float32, 1, BADC), written, Drives::Duty},
          {Duty, words(Input, 1006, Float32, 1, BADC), applied, Drives::Setpoint},
          {Watchdog, words(Holding, 2004, Int32, 0.1, DCBA), "0.5 to 60, written"},
          {OwnRamp, words(Holding, 2006, Float32, 1, BADC), ramp, Drives::Setpoint},
          {Fan, words(Holding, 2010, Uint16), "0 or 1"},
          {StripLifted, words(Holding, 2011, Uint16), hands},
          {Channel, words(Input, 1100, Float32, 1, BADC), truths}}},
        {"modules",
         "two devices on one line: thermocouple module, unit 2, and relay module, unit 3, whose "
         "watchdog only requests to unit 3 feed",
         2,
         32767,
         false,
         Drives::Duty,
         {{Sensor, words(Input, 0, Int16, 0.1), "32767: no sensor"},
          {StripSensor, words(Input, 1, Int16, 0.1), "32767: no sensor"},
          {Channel, words(Input, 2, Int16, 0.1), truths},
          {Duty, ofUnit(3, bit(Coil, 0)), "heater on or off, written"},
          {Enable, ofUnit(3, bit(Coil, 1)), "off: no heat whatever the duty"},
          {Fan, ofUnit(3, bit(Coil, 2))},
          {StripLifted, ofUnit(3, bit(Coil, 3)), hands},
          {Status, ofUnit(3, bit(Discrete, 0)), hasCut},
          {Watchdog, ofUnit(3, words(Holding, 0, Uint16, 0.1)), "0.5 to 60, written"}}}};
    return all;
}

bool matches(Drives drives, DriveKind drive)
{
    return drives == Drives::Both || (drives == Drives::Duty) == (drive == DriveKind::Duty);
}

const Table* tableNamed(const std::string& name)
{
    const auto& all = tables();
    const auto found =
        std::find_if(all.begin(), all.end(), [&](const Table& one) { return name == one.name; });
    return found == all.end() ? nullptr : &*found;
}

bool isBit(const RegisterField& field)
{
    return field.table == Coil || field.table == Discrete;
}

void put(PlateMap& map, const Row& row)
{
    PlateLink& link = map.link;
    switch (row.quantity) {
    case Sensor:
        link.sensor = row.at;
        break;
    case StripSensor:
        link.stripSensor = row.at;
        break;
    case Duty:
        link.duty = row.at;
        break;
    case Setpoint:
        link.setpoint = row.at;
        break;
    case Status:
        link.status = row.at;
        link.sensorFaultMask = isBit(row.at) ? 0 : 1;
        link.watchdogTrippedMask = isBit(row.at) ? 1 : 2;
        break;
    case Counter:
        link.counter = row.at;
        break;
    case Watchdog:
        link.watchdogS = row.at;
        break;
    case Enable:
        link.enable = row.at;
        break;
    case Fan:
        link.fan = row.at;
        break;
    case StripLifted:
        link.stripLifted = row.at;
        break;
    case OwnRamp:
        map.ownRamp = row.at;
        break;
    case Channel:
        map.truth = row.at;
        break;
    }
}

} // namespace

const std::vector<std::string>& plateMapNames()
{
    static const std::vector<std::string> names = [] {
        std::vector<std::string> all;
        for (const Table& table : tables())
            all.emplace_back(table.name);
        return all;
    }();
    return names;
}

std::optional<PlateMap> plateMap(const std::string& name, DriveKind drive)
{
    const Table* table = tableNamed(name);
    if (!table || !matches(table->drives, drive))
        return {};
    PlateMap map{.name = table->name,
                 .what = table->what,
                 .link = {},
                 .truth = {},
                 .ownRamp = {},
                 .gapsRefused = table->gapsRefused};
    map.link.name = "simulated plate";
    map.link.unit = table->unit;
    map.link.drive = drive;
    map.link.noSensorRaw = {table->noSensorRaw};
    map.link.setpointFloorC = SimulatedPlate::setpointFloorC;
    for (const Row& row : table->rows)
        if (matches(row.drives, drive))
            put(map, row);
    return map;
}

PlateMap withoutWatchdog(PlateMap map)
{
    map.link.watchdogS.reset();
    return withoutWatchdogBit(std::move(map));
}

PlateMap withoutWatchdogBit(PlateMap map)
{
    map.link.watchdogTrippedMask = 0;
    if (map.link.sensorFaultMask == 0)
        map.link.status.reset(); // it told nothing else
    return map;
}

PlateMap withoutOwnRamp(PlateMap map)
{
    map.ownRamp.reset();
    return map;
}

PlateMap withoutDuty(PlateMap map)
{
    if (map.link.drive == DriveKind::Setpoint)
        map.link.duty.reset();
    return map;
}

void fitTo(SimulatedPlateOptions& options, const PlateMap& map)
{
    options.drive = map.link.drive;
    options.hasEnable = map.link.enable.has_value();
    options.stripSensor = map.link.stripSensor.has_value();
    options.hasWatchdog = map.link.watchdogS.has_value();
    options.tellsDuty = map.link.duty.has_value();
}

PlateLink linkTo(const PlateMap& map, const SimulatedPlate& plate)
{
    PlateLink link = map.link;
    const Plant& plant = plate.plant();
    link.readingEveryS = plant.readingEveryS;
    link.watchdogSeconds = std::max(plate.watchdogSeconds(), leastWatchdogS(link));
    if (link.duty && link.drive == DriveKind::Duty && isBit(*link.duty))
        link.leastOnS = plant.leastOnS;
    if (map.ownRamp && plant.ownRampCPerS > 0)
        link.settings.push_back({"own ramp off", *map.ownRamp, 0});
    else if (link.drive == DriveKind::Setpoint && plant.ownRampCPerS > 0)
        link.ownRampCPerS = plant.ownRampCPerS;
    RegisterField field = map.truth;
    for (const std::string& name : plate.truthNames()) {
        link.channels.push_back({name, field});
        field.address += wordsOf(field);
    }
    return link;
}

std::vector<PlacedQuantity> quantitiesOf(const PlateLink& link)
{
    std::vector<PlacedQuantity> all = {{Sensor, link.sensor}};
    const auto add = [&](Quantity quantity, const std::optional<RegisterField>& field) {
        if (field)
            all.push_back({quantity, *field});
    };
    add(StripSensor, link.stripSensor);
    add(Duty, link.duty);
    add(Setpoint, link.setpoint);
    add(Status, link.status);
    add(Counter, link.counter);
    add(Watchdog, link.watchdogS);
    add(Enable, link.enable);
    add(Fan, link.fan);
    add(StripLifted, link.stripLifted);
    int channel = 0;
    for (const ExtraChannel& one : link.channels)
        all.push_back({Channel, one.field, channel++});
    return all;
}

std::string plateMapText(const std::string& name)
{
    static const char* const quantities[] = {"sensor_C", "strip_sensor_C", "duty",       "setpoint_C",
                                             "status",   "counter",        "watchdog_s", "enable",
                                             "fan",      "strip_lifted",   "own ramp",   "channels"};
    static const char* const tableNames[] = {"coil", "discrete", "input", "holding"};
    static const char* const types[] = {"int16", "uint16", "int32", "float32"};
    static const char* const orders[] = {"ABCD", "CDAB", "BADC", "DCBA"};
    const Table* table = tableNamed(name);
    if (!table)
        return {};
    std::string text = name + ": " + table->what + "\n";
    for (const Row& row : table->rows) {
        const char* drive = row.drives == Drives::Both || table->drives != Drives::Both ? ""
                            : row.drives == Drives::Duty                                ? "duty drive: "
                                                                                        : "set-point drive: ";
        char type[32] = "bit";
        if (!isBit(row.at))
            std::snprintf(type, sizeof type, "%s%s%s x %g", types[static_cast<size_t>(row.at.type)],
                          wordsOf(row.at) == 2 ? " " : "",
                          wordsOf(row.at) == 2 ? orders[static_cast<size_t>(row.at.order)] : "",
                          row.at.scale);
        char line[200];
        std::snprintf(line, sizeof line, "  %-14s unit %-2d %-8s %-4d %-21s %s%s\n",
                      quantities[static_cast<size_t>(row.quantity)], row.at.unit.value_or(table->unit),
                      tableNames[static_cast<size_t>(row.at.table)], row.at.address, type, drive, row.note);
        text += line;
    }
    return text;
}

} // namespace stripwright
