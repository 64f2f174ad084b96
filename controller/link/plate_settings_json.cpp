#include "link/plate_link_json.h"
#include "link/read_blocks.h"
#include "link/register_codec.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using nlohmann::json;

// Written once and compared word for word: what would be rounded is not what was meant.
static bool standsExactly(double value, const RegisterField& field)
{
    std::uint16_t words[2] = {};
    if (field.table == RegisterTable::Coil)
        return value == 0 || value == 1;
    const double nearK = 1e-6 * std::max(1.0, std::abs(value)) + 1e-3 * std::abs(field.scale);
    return encodeValue(value, field, words) && std::abs(decodeValue(words, field) - value) <= nearK;
}

static bool overlap(const RegisterField& a, const RegisterField& b, int unit)
{
    return a.unit.value_or(unit) == b.unit.value_or(unit) && a.table == b.table &&
           a.address < b.address + wordsOf(b) && b.address < a.address + wordsOf(a);
}

static PlateSetting readSetting(Fields& fields, const PlateLink& link)
{
    PlateSetting setting{fields.text("name"), {}, 0};
    setting.field = readField(fields, Content::Duty, link.serial.has_value());
    setting.value = fields.number("value");
    if (setting.field.table != RegisterTable::Coil && setting.field.table != RegisterTable::Holding)
        fields.report("table", quoted(json(nameOf(setting.field.table))), "coil or holding: it is written");
    else if (!standsExactly(setting.value, setting.field))
        fields.report("value", json(setting.value).dump(),
                      setting.field.table == RegisterTable::Coil ? "0 or 1"
                                                                 : "a value its register can hold exactly");
    const std::vector<RegisterField> driven = writtenFields(link);
    const bool taken = std::any_of(driven.begin(), driven.end(), [&](const RegisterField& other) {
        return overlap(setting.field, other, link.unit);
    });
    if (taken)
        fields.report("address", std::to_string(setting.field.address),
                      "a place that nothing under \"registers\" is written to");
    for (const PlateSetting& other : link.settings) {
        if (!setting.name.empty() && other.name == setting.name)
            fields.report("name", quoted(json(setting.name)), "a name no other setting has");
        if (overlap(setting.field, other.field, link.unit))
            fields.report("address", std::to_string(setting.field.address),
                          "another place than that of " + quoted(json(other.name)));
    }
    fields.finish();
    return setting;
}

void readSettings(Fields& root, PlateLink& link)
{
    const json* list = root.optional("settings");
    if (!list)
        return;
    if (!list->is_array() || list->size() > static_cast<size_t>(maxPlateSettings)) {
        root.report("settings", list->is_array() ? std::to_string(list->size()) + " settings" : quoted(*list),
                    "an array of at most " + std::to_string(maxPlateSettings) + " settings");
        return;
    }
    for (size_t i = 0; i < list->size(); ++i) {
        Fields fields((*list)[i], root.file(), root.at("settings") + "/" + std::to_string(i),
                      root.problems());
        link.settings.push_back(readSetting(fields, link));
    }
}

json settingsToJson(const PlateLink& link)
{
    json list = json::array();
    for (const PlateSetting& setting : link.settings) {
        list.push_back(toJson(setting.field, Content::Duty));
        list.back()["name"] = setting.name;
        list.back()["value"] = setting.value;
    }
    return list;
}

} // namespace stripwright
