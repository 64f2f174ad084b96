#include "link/plate_link_json.h"

namespace stripwright {

using nlohmann::json;

// "2026-11-25T22:00:00Z"
static bool isUtcTime(const std::string& text)
{
    const std::string shape = "dddd-dd-ddTdd:dd:ddZ";
    if (text.size() != shape.size())
        return false;
    for (size_t i = 0; i < shape.size(); ++i) {
        const bool digit = text[i] >= '0' && text[i] <= '9';
        if (shape[i] == 'd' ? !digit : text[i] != shape[i])
            return false;
    }
    return true;
}

static OwnLoopFigures readOwnLoop(Fields fields)
{
    OwnLoopFigures loop;
    loop.gainPerK = fields.number("gain_per_K", within(1e-4, 100));
    loop.integralS = fields.number("integral_s", within(0.1, 1e5));
    loop.derivativeS = fields.numberOr("derivative_s", 0, within(0, 1000));
    loop.mostDuty = fields.numberOr("most_duty", 1, within(0.01, 1));
    fields.finish();
    return loop;
}

static json toJson(const OwnLoopFigures& loop)
{
    return {{"gain_per_K", loop.gainPerK},
            {"integral_s", loop.integralS},
            {"derivative_s", loop.derivativeS},
            {"most_duty", loop.mostDuty}};
}

IdentifiedPlate readIdentifiedPlate(Fields fields)
{
    IdentifiedPlate plate;
    plate.measuredUtc = fields.text("measured_utc");
    if (!plate.measuredUtc.empty() && !isUtcTime(plate.measuredUtc))
        fields.report("measured_utc", quoted(json(plate.measuredUtc)),
                      "a time such as \"2026-11-25T22:00:00Z\"");
    plate.powerW = fields.number("power_W", above(0));
    plate.heatCapacityJPerK = fields.number("heat_capacity_J_per_K", above(0));
    plate.lossWPerK = fields.number("loss_W_per_K", above(0));
    plate.radiatingAreaM2 = fields.number("radiating_area_m2", atLeast(0));
    plate.elementLagS = fields.number("element_lag_s", atLeast(0));
    plate.sensorLagS = fields.number("sensor_lag_s", atLeast(0));
    plate.deadTimeS = fields.number("dead_time_s", atLeast(0));
    plate.fitRmsK = fields.number("fit_rms_K", atLeast(0));
    plate.dutyPerK = fields.number("duty_per_K", above(0));
    plate.integralS = fields.number("integral_s", above(0));
    plate.derivativeS = fields.number("derivative_s", atLeast(0));
    plate.capacityError = fields.optionalNumber("heat_capacity_error_share", atLeast(0));
    plate.lossError = fields.optionalNumber("loss_error_share", atLeast(0));
    plate.lagError = fields.optionalNumber("lag_error_share", atLeast(0));
    plate.fanLossWPerK = fields.optionalNumber("fan_loss_W_per_K", above(0));
    plate.fanLossError = fields.optionalNumber("fan_loss_error_share", atLeast(0));
    plate.fullHeatRampCPerS = fields.optionalNumber("full_heat_ramp_C_per_s", above(0));
    if (const json* loop = fields.optional("own_loop"))
        plate.ownLoop = readOwnLoop(Fields(*loop, fields.file(), fields.at("own_loop"), fields.problems()));
    fields.finish();
    return plate;
}

json toJson(const IdentifiedPlate& plate)
{
    json object = {{"measured_utc", plate.measuredUtc},
                   {"power_W", plate.powerW},
                   {"heat_capacity_J_per_K", plate.heatCapacityJPerK},
                   {"loss_W_per_K", plate.lossWPerK},
                   {"radiating_area_m2", plate.radiatingAreaM2},
                   {"element_lag_s", plate.elementLagS},
                   {"sensor_lag_s", plate.sensorLagS},
                   {"dead_time_s", plate.deadTimeS},
                   {"fit_rms_K", plate.fitRmsK},
                   {"duty_per_K", plate.dutyPerK},
                   {"integral_s", plate.integralS},
                   {"derivative_s", plate.derivativeS}};
    const auto put = [&](const char* key, const std::optional<double>& value) {
        if (value)
            object[key] = *value;
    };
    put("heat_capacity_error_share", plate.capacityError);
    put("loss_error_share", plate.lossError);
    put("lag_error_share", plate.lagError);
    put("fan_loss_W_per_K", plate.fanLossWPerK);
    put("fan_loss_error_share", plate.fanLossError);
    put("full_heat_ramp_C_per_s", plate.fullHeatRampCPerS);
    if (plate.ownLoop)
        object["own_loop"] = toJson(*plate.ownLoop);
    return object;
}

} // namespace stripwright
