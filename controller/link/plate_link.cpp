#include "link/plate_link.h"

#include "link/plate_link_json.h"
#include "link/register_codec.h"

namespace stripwright {

using nlohmann::json;

static const char* const linkFormat = "stripwright-plate-link";
static const std::vector<std::string> driveNames = {"duty", "setpoint"};

std::string placeOf(const PlateLink& link)
{
    if (!link.serial)
        return link.host + " port " + std::to_string(link.port);
    return link.serial->device + " at " + std::to_string(link.serial->baud) + " " +
           nameOf(link.serial->frame);
}

bool isSwitched(const PlateLink& link)
{
    return link.drive == DriveKind::Duty && link.duty &&
           (link.duty->table == RegisterTable::Coil || link.switched);
}

double leastWatchdogS(const PlateLink& link)
{
    return 2.5 * link.readingEveryS; // one lost answer is no silence
}

static void readLine(Fields& root, PlateLink& link)
{
    const json* serial = root.optional("serial");
    const json* host = root.optional("host");
    if (!serial && !host)
        root.report("host", "nothing",
                    "\"host\" (and \"port\") for Modbus TCP, or \"serial\" for a Modbus RTU line");
    if (serial && host)
        root.report("serial", "\"serial\" and \"host\"", "one of both: the plate stands on one line");
    if (host)
        link.host = root.text("host");
    if (serial)
        link.serial = readSerialLine(Fields(*serial, root.file(), root.at("serial"), root.problems()));
    if (const json* port = root.optional("port"); port && serial && !host)
        root.report("port", quoted(*port), "no \"port\": a serial line has none");
    else
        link.port = root.integerOr("port", link.port, 1, 65535);
    link.unit = readUnit(root, serial).value_or(link.unit);
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
        channel.field = readField(fields, Content::Quantity, link.serial.has_value());
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
            root.problems().push_back({root.file(), root.at("no_sensor_raw") + "/" + std::to_string(i),
                                       quoted(value),
                                       "a whole number a " + nameOf(link.sensor.type) + " can hold"});
    }
}

static void requireEncodable(Fields& root, const std::string& key, double value,
                             const std::optional<RegisterField>& field)
{
    std::uint16_t words[2];
    if (field && !encodeValue(value, *field, words))
        root.report(key, json(value).dump(), "a value its register can hold");
}

static void readLimits(Fields& root, PlateLink& link)
{
    link.sensorMinC = root.numberOr("sensor_min_C", link.sensorMinC, within(-273.15, 2000));
    link.sensorMaxC = root.numberOr("sensor_max_C", link.sensorMaxC, within(-273.15, 2000));
    if (link.sensorMaxC <= link.sensorMinC)
        root.report("sensor_max_C", json(link.sensorMaxC).dump(),
                    "a number above sensor_min_C, " + json(link.sensorMinC).dump());
    if (root.optional("plate_max_C")) {
        link.plateMaxC = root.number("plate_max_C", within(40, 500));
        if (*link.plateMaxC > link.sensorMaxC && link.sensorMaxC > link.sensorMinC)
            root.report("plate_max_C", json(*link.plateMaxC).dump(),
                        "at most sensor_max_C, " + json(link.sensorMaxC).dump() +
                            ": what the sensor cannot show nobody can hold");
    }
    link.setpointFloorC = root.numberOr("setpoint_floor_C", link.setpointFloorC, within(-40, 45));
    link.watchdogSeconds = root.numberOr("watchdog_s", link.watchdogSeconds, within(0.5, 60));
    requireEncodable(root, "watchdog_s", link.watchdogSeconds, link.watchdogS);
    if (link.drive == DriveKind::Setpoint)
        requireEncodable(root, "setpoint_floor_C", link.setpointFloorC, link.setpoint);
    link.watchdogProvenS = root.numberOr("watchdog_proven_s", link.watchdogProvenS, atLeast(0));
    // Of another watchdog time nobody has seen anything.
    if (!link.watchdogS || link.watchdogSeconds > link.watchdogProvenS)
        link.watchdogProvenS = 0;
}

static void readTimes(Fields& root, PlateLink& link, bool driveKnown)
{
    const auto dump = [](double value) { return json(value).dump(); };
    link.readingEveryS = root.numberOr("reading_every_s", link.readingEveryS, within(0, 5));
    const std::string least = dump(leastWatchdogS(link)) + ": 2.5 times reading_every_s, for the plate is "
                                                           "spoken to only that often";
    if (link.watchdogS && link.watchdogSeconds < leastWatchdogS(link))
        root.report("watchdog_s", dump(link.watchdogSeconds), "at least " + least);
    else if (link.watchdogProvenS > 0 && link.watchdogProvenS < leastWatchdogS(link))
        root.report("watchdog_proven_s", dump(link.watchdogProvenS),
                    "at least " + least + "; a plate that cuts sooner cannot be driven");
    link.leastOnS = root.numberOr("least_on_s", link.leastOnS, within(0, 30));
    if (link.leastOnS > 0 && driveKnown && !isSwitched(link))
        root.report("least_on_s", dump(link.leastOnS),
                    "no such time: only a duty that is a coil, or \"switched\", is on or off");
    if (root.optional("own_ramp_C_per_s")) {
        link.ownRampCPerS = root.number("own_ramp_C_per_s", within(0.01, 100));
        if (driveKnown && link.drive == DriveKind::Duty)
            root.report("own_ramp_C_per_s", dump(*link.ownRampCPerS),
                        "no such ramp: only a plate driven by its set-point has one");
        else if (driveKnown && !link.enable)
            root.report(
                "own_ramp_C_per_s", dump(*link.ownRampCPerS),
                "an \"enable\" output beside it: told to be off, a set-point that ramps comes down "
                "slowly, and the plate heats on until it has. Or switch the ramp off by \"settings\"");
    }
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
    link.simulated = root.flagOr("simulated", false);
    readLine(root, link);
    const size_t problemsBefore = problems.size();
    link.drive = static_cast<DriveKind>(root.choice("drive", driveNames));
    const bool driveKnown = problems.size() == problemsBefore;
    if (const json* value = root.required("registers", "an object that names where each quantity stands")) {
        Fields registers(*value, fileName, "/registers", problems);
        readRegisters(registers, link, driveKnown);
    }
    readNoSensor(root, link);
    readLimits(root, link);
    readTimes(root, link, driveKnown);
    readChannels(root, link);
    readSettings(root, link);
    if (const json* value = root.optional("identified"))
        link.identified = readIdentifiedPlate(Fields(*value, fileName, "/identified", problems));
    if (link.identified && link.identified->ownLoop)
        link.identified->ownLoop->rampCPerS = link.ownRampCPerS;
    root.finish();
    if (!problems.empty())
        throw BadInput(problems);
    return link;
}

std::string toJsonText(const PlateLink& link)
{
    json channels = json::array();
    for (const ExtraChannel& channel : link.channels) {
        channels.push_back(toJson(channel.field, Content::Quantity));
        channels.back()["name"] = channel.name;
    }
    json document = {{"format", linkFormat},
                     {"version", 1},
                     {"name", link.name},
                     {"unit", link.unit},
                     {"drive", driveNames[static_cast<size_t>(link.drive)]},
                     {"registers", registersToJson(link)},
                     {"no_sensor_raw", link.noSensorRaw},
                     {"sensor_min_C", link.sensorMinC},
                     {"sensor_max_C", link.sensorMaxC},
                     {"setpoint_floor_C", link.setpointFloorC},
                     {"watchdog_s", link.watchdogSeconds},
                     {"watchdog_proven_s", link.watchdogProvenS},
                     {"channels", channels}};
    if (link.serial) {
        document["serial"] = toJson(*link.serial);
    } else {
        document["host"] = link.host;
        document["port"] = link.port;
    }
    if (link.simulated)
        document["simulated"] = true;
    if (link.readingEveryS > 0)
        document["reading_every_s"] = link.readingEveryS;
    if (link.ownRampCPerS)
        document["own_ramp_C_per_s"] = *link.ownRampCPerS;
    if (link.leastOnS > 0)
        document["least_on_s"] = link.leastOnS;
    if (!link.settings.empty())
        document["settings"] = settingsToJson(link);
    if (link.plateMaxC)
        document["plate_max_C"] = *link.plateMaxC;
    if (link.identified)
        document["identified"] = toJson(*link.identified);
    return document.dump(2) + "\n";
}

} // namespace stripwright
