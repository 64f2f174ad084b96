#include "commissioning/draft_link.h"

#include "link/register_codec.h"
#include "materials/json_fields.h"

#include <algorithm>

namespace stripwright {

using nlohmann::json;

// The type that stands in for one that is not known yet: it holds every raw value that may mean "no sensor".
static const char* standInType(const json& sensor)
{
    const bool last = sensor.value("address", json()) == 65535;
    const json number = sensor.value("document_number", json());
    const bool lastByNumber = number.is_string() && number.get<std::string>().ends_with("65536");
    return last || lastByNumber ? "uint16" : "int32";
}

DraftLink readDraftLink(const std::string& text, const std::string& fileName)
{
    std::vector<Problem> problems;
    const auto document = parseDocument(text, fileName, "stripwright-plate-link", 1, problems);
    if (!document)
        throw BadInput(problems);
    json whole = *document;
    bool type = false, order = false, scale = false;
    if (const json::json_pointer at("/registers/sensor_C"); whole.contains(at) && whole[at].is_object()) {
        json& sensor = whole[at];
        type = sensor.contains("type");
        order = sensor.contains("order");
        scale = sensor.contains("scale");
        if (!type)
            sensor["type"] = standInType(sensor);
    }
    DraftLink draft;
    draft.link = readPlateLink(whole.dump(), fileName);
    const RegisterField& sensor = draft.link.sensor;
    draft.type = type ? std::optional(sensor.type) : std::nullopt;
    draft.order = order ? std::optional(sensor.order) : std::nullopt;
    draft.scale = scale ? std::optional(sensor.scale) : std::nullopt;
    return draft;
}

PlateLink linkWithSensor(const DraftLink& draft, const RegisterField& sensor)
{
    PlateLink link = draft.link;
    link.sensor = sensor;
    std::erase_if(link.noSensorRaw,
                  [&](long raw) { return !typeHolds(static_cast<double>(raw), sensor.type); });
    if (!draft.meaningGiven())
        link.identified.reset(); // learnt with a sensor that was read otherwise
    return link;
}

} // namespace stripwright
