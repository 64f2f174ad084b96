#include "bench/plant.h"

#include "materials/json_fields.h"

#include <cstdio>

namespace stripwright {

static const char* const plantFormat = "stripwright-plant";

namespace {

/// A key with what it says when it is absent: its figure, or words where it has none.
struct NumberKey {
    const char* key;
    double* at;
    Accepts accepts;
    const char* says = "";
};

struct OptionalKey {
    const char* key;
    std::optional<double>* at;
    Accepts accepts;
    const char* absent;
};

const std::vector<std::string> watchdogBits = {"clears", "latches", "none"}; // in the order of WatchdogBit

std::vector<NumberKey> numberKeys(Plant& plant)
{
    return {
        {"power_factor", &plant.truth.power, within(0.1, 10)},
        {"heat_capacity_factor", &plant.heatCapacityFactor, within(0.1, 10)},
        {"loss_factor", &plant.truth.losses, within(0.1, 10)},
        {"contact_factor", &plant.truth.contact, within(0.01, 10)},
        {"reading_noise_K", &plant.noiseK, within(0, 10)},
        {"reading_step_K", &plant.readingStepK, within(0.001, 10)},
        {"reading_every_s", &plant.readingEveryS, within(0, 5),
         "the reading's register and the counter are refreshed only so often; 0: each 0.1 s"},
        {"sensor_offset_K", &plant.sensorOffsetK, within(-100, 100)},
        {"own_loop_gain_factor", &plant.ownLoopGain, within(0.05, 20), "on the gain that is worked out"},
        {"own_loop_every_s", &plant.ownLoopEveryS, within(0.1, 10), "the own loop's sample period"},
        {"own_ramp_C_per_s", &plant.ownRampCPerS, within(0, 100),
         "the own loop's set-point goes up and down no faster, from the reading on when heat is switched on; "
         "0: off"},
        {"output_window_s", &plant.outputWindowS, within(0, 60),
         "the heater is on for a share of each window; whole mains half waves are 0.02; 0: any power"},
        {"least_on_s", &plant.leastOnS, within(0, 60),
         "a relay stays on, and off, at least so long whatever is asked for"}};
}

// Lags as far as a plate type's own may go.
std::vector<OptionalKey> optionalKeys(Plant& plant)
{
    const char* const sheets = "the sheet's";
    const char* const workedOut = "worked out from the plate";
    return {{"element_lag_s", &plant.elementLagS, within(0, 300), sheets},
            {"sensor_lag_s", &plant.sensorLagS, within(0, 300), sheets},
            {"dead_time_s", &plant.deadTimeS, within(0, 60), sheets},
            {"own_loop_gain_per_K", &plant.ownLoopGainPerK, within(1e-4, 100), workedOut},
            {"own_loop_integral_s", &plant.ownLoopIntegralS, within(0.1, 1e5), workedOut},
            {"own_loop_derivative_s", &plant.ownLoopDerivativeS, within(0, 1000), "0, on the reading"},
            {"own_loop_most_duty", &plant.ownLoopMostDuty, within(0.01, 1), "1"}};
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
    for (const NumberKey& one : numberKeys(plant))
        *one.at = root.numberOr(one.key, *one.at, one.accepts);
    for (const OptionalKey& one : optionalKeys(plant))
        *one.at = root.optionalNumber(one.key, one.accepts);
    if (plant.ownLoopGainPerK && root.optional("own_loop_gain_factor"))
        root.report("own_loop_gain_factor", std::to_string(plant.ownLoopGain),
                    "no such factor beside own_loop_gain_per_K, which says the gain itself");
    plant.watchdogBit = static_cast<WatchdogBit>(root.choice("watchdog_bit", watchdogBits, 0));
    root.finish();
    if (!problems.empty())
        throw BadInput(problems);
    return plant;
}

std::string plantFileText()
{
    Plant plant;
    std::string text = "  \"format\": \"" + std::string(plantFormat) + "\", \"version\": 1, and any of\n";
    const auto line = [&](const char* key, Accepts accepts, const std::string& absent, const char* says) {
        char row[200];
        std::snprintf(row, sizeof row, "  %-21s %g to %g; absent: %s%s%s\n", key, accepts.min, accepts.max,
                      absent.c_str(), *says ? ". " : "", says);
        text += row;
    };
    for (const NumberKey& one : numberKeys(plant)) {
        char value[20];
        std::snprintf(value, sizeof value, "%g", *one.at);
        line(one.key, one.accepts, value, one.says);
    }
    for (const OptionalKey& one : optionalKeys(plant))
        line(one.key, one.accepts, one.absent, "");
    text +=
        "  watchdog_bit          \"clears\", \"latches\" or \"none\"; absent: clears. The status bit of a "
        "watchdog that has\n"
        "                        cut goes out when no heat is commanded, or when heat is enabled again; or "
        "there is none\n";
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
