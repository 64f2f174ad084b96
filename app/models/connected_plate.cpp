#include "models/connected_plate.h"

#include <nlohmann/json.hpp>

#include <fstream>

namespace stripwright {

using nlohmann::json;

static json partOf(const json& object, const char* key)
{
    const auto part = object.is_object() ? object.find(key) : object.end();
    return object.is_object() && part != object.end() ? *part : json();
}

static std::optional<double> numberOf(const json& object, const char* key)
{
    const json part = partOf(object, key);
    return part.is_number() ? std::optional(part.get<double>()) : std::nullopt;
}

static std::optional<OwnLoopFigures> ownLoopOf(const json& link, const json& identified)
{
    const json part = partOf(identified, "own_loop");
    const auto gain = numberOf(part, "gain_per_K"), integralS = numberOf(part, "integral_s");
    if (!gain || !integralS || !(*gain > 0) || !(*integralS > 0))
        return {};
    return OwnLoopFigures{.gainPerK = *gain,
                          .integralS = *integralS,
                          .derivativeS = numberOf(part, "derivative_s").value_or(0),
                          .mostDuty = numberOf(part, "most_duty").value_or(1),
                          .rampCPerS = numberOf(link, "own_ramp_C_per_s")};
}

ConnectedPlate connectedPlateOf(const json& link)
{
    ConnectedPlate plate;
    const json name = partOf(link, "name"), registers = partOf(link, "registers"),
               identified = partOf(link, "identified");
    plate.name = name.is_string() ? name.get<std::string>() : std::string();
    plate.switchesFan = partOf(registers, "fan").is_object();
    plate.hasWatchdog = partOf(registers, "watchdog_s").is_object();
    plate.bySetpoint = partOf(link, "drive") == "setpoint";
    plate.watchdogProvenS = numberOf(link, "watchdog_proven_s").value_or(0);
    if (!plate.hasWatchdog || numberOf(link, "watchdog_s").value_or(3) > plate.watchdogProvenS)
        plate.watchdogProvenS = 0; // proven with another time, of which nobody has seen anything
    if (!identified.is_object())
        return plate;
    PlateType learnt;
    const std::pair<const char*, double*> figures[] = {{"power_W", &learnt.powerW},
                                                       {"heat_capacity_J_per_K", &learnt.heatCapacityJPerK},
                                                       {"loss_W_per_K", &learnt.lossWPerK},
                                                       {"radiating_area_m2", &learnt.radiatingAreaM2},
                                                       {"element_lag_s", &learnt.elementLagS},
                                                       {"sensor_lag_s", &learnt.sensorLagS},
                                                       {"dead_time_s", &learnt.deadTimeS}};
    bool whole = true;
    for (const auto& [key, value] : figures)
        if (const auto said = numberOf(identified, key))
            *value = *said;
        else
            whole = false;
    if (!whole)
        return plate;
    if (const auto fan = numberOf(identified, "fan_loss_W_per_K")) {
        learnt.fanLossWPerK = *fan;
        plate.fanLearnt = true;
    }
    learnt.ownLoop = ownLoopOf(link, identified);
    plate.learnt = learnt;
    plate.capacityError = numberOf(identified, "heat_capacity_error_share");
    plate.lossError = numberOf(identified, "loss_error_share");
    plate.lagError = numberOf(identified, "lag_error_share");
    return plate;
}

std::optional<ConnectedPlate> readConnectedPlate(const std::filesystem::path& linkFile)
{
    if (linkFile.empty())
        return {};
    std::ifstream file(linkFile);
    const json link = json::parse(file, nullptr, false);
    return link.is_object() ? std::optional(connectedPlateOf(link)) : std::nullopt;
}

} // namespace stripwright
