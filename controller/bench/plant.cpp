#include "bench/plant.h"

#include "materials/json_fields.h"

#include <cstdio>

namespace stripwright {

static const char* const plantFormat = "stripwright-plant";

namespace {

struct FactorKey {
    const char* key;
    double* at;
    Accepts accepts;
};

struct LagKey {
    const char* key;
    std::optional<double>* at;
    Accepts accepts;
};

std::vector<FactorKey> factorKeys(Plant& plant)
{
    return {{"power_factor", &plant.truth.power, within(0.1, 10)},
            {"heat_capacity_factor", &plant.heatCapacityFactor, within(0.1, 10)},
            {"loss_factor", &plant.truth.losses, within(0.1, 10)},
            {"contact_factor", &plant.truth.contact, within(0.01, 10)},
            {"reading_noise_K", &plant.noiseK, within(0, 10)},
            {"reading_step_K", &plant.readingStepK, within(0.001, 10)},
            {"sensor_offset_K", &plant.sensorOffsetK, within(-100, 100)},
            {"own_loop_gain_factor", &plant.ownLoopGain, within(0.05, 20)}};
}

// As far as a plate type's own may go.
std::vector<LagKey> lagKeys(Plant& plant)
{
    return {{"element_lag_s", &plant.elementLagS, within(0, 300)},
            {"sensor_lag_s", &plant.sensorLagS, within(0, 300)},
            {"dead_time_s", &plant.deadTimeS, within(0, 60)}};
}

} // namespace

Plant readPlant(const std::string& text, const std::string& fileName)
{
    std::vector<Problem> problems;
    Plant plant;
    const auto document = parseDocument(text, fileName, plantFormat, 1, problems);
    if (!document)
        throw BadInput(problems);
    Fields root(*document, fileName, "", problems);
    root.text("format");
    root.integer("version", 1, 1);
    for (const FactorKey& one : factorKeys(plant))
        *one.at = root.numberOr(one.key, *one.at, one.accepts);
    for (const LagKey& one : lagKeys(plant))
        *one.at = root.optionalNumber(one.key, one.accepts);
    root.finish();
    if (!problems.empty())
        throw BadInput(problems);
    return plant;
}

std::string plantFileText()
{
    Plant plant;
    std::string text = "  \"format\": \"" + std::string(plantFormat) + "\", \"version\": 1, and any of\n";
    const auto line = [&](const char* key, Accepts accepts, const std::string& absent) {
        char row[120];
        std::snprintf(row, sizeof row, "  %-21s %g to %g; absent: %s\n", key, accepts.min, accepts.max,
                      absent.c_str());
        text += row;
    };
    for (const FactorKey& one : factorKeys(plant)) {
        char value[20];
        std::snprintf(value, sizeof value, "%g", *one.at);
        line(one.key, one.accepts, value);
    }
    for (const LagKey& one : lagKeys(plant))
        line(one.key, one.accepts, "the sheet's");
    return text;
}

PlateType platePutRight(PlateType plate, const Plant& plant)
{
    plate.heatCapacityJPerK *= plant.heatCapacityFactor;
    plate.elementLagS = plant.elementLagS.value_or(plate.elementLagS);
    plate.sensorLagS = plant.sensorLagS.value_or(plate.sensorLagS);
    plate.deadTimeS = plant.deadTimeS.value_or(plate.deadTimeS);
    return plate;
}

} // namespace stripwright
