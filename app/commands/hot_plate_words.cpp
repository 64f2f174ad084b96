#include "commands/hot_plate_words.h"

#include "planner/solder_melts.h"
#include "rules/alloy_rules.h"
#include "rules/wording.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

std::string degrees(double valueC)
{
    return std::to_string(std::lround(valueC)) + " °C";
}

/// Below it no joint of this heat can be liquid; none where the heat melts no joint.
std::optional<double> solidBelowC(const std::optional<HeatPlan>& plan)
{
    if (!plan)
        return lowestOldLiquidusC - surelySolidBelowK;
    const auto melts = solderMelts(plan->sheet);
    if (!melts)
        return {};
    // The joint that is made may be of both solders; LEDs that stay are on the old one.
    const double keptC = plan->sheet.oldAlloy ? plan->sheet.oldAlloy->movableAboveC : lowestOldLiquidusC;
    return std::min({melts->lowC - melts->pastyK, movableAboveC(plan->sheet), keptC}) - surelySolidBelowK;
}

} // namespace

std::string hotPlateWords(const std::optional<HeatPlan>& plan, const Status& status,
                          const std::optional<Sample>& newest)
{
    const double safeC = plan ? plan->safeBelowC : HeatPlan().safeBelowC;
    const bool lifted = status.strip == StripPlace::Lifted;
    const auto jointC = newest ? newest->jointHighC : std::nullopt;
    // No reading is no reason to take anything for cool.
    const double hottestC =
        std::max(status.sensorC.value_or(INFINITY), jointC.value_or(status.sensorC.value_or(INFINITY)));
    if (hottestC < safeC)
        return "Plate and strip read below " + degrees(safeC) + "; make sure with a contact thermometer.";

    std::string text = "Plate " + (status.sensorC ? degrees(*status.sensorC) : "temperature unknown");
    if (jointC)
        text += ", joint up to " + degrees(*jointC) + " est.";
    text += ": plate and strip are HOT.";
    const auto solidC = solidBelowC(plan);
    if (solidC && hottestC >= *solidC)
        text += " Solder may be liquid until the joints are below " + degrees(*solidC) +
                (lifted ? ": hold the strip still, knock nothing"
                        : ": leave the strip where it lies, do not lift or knock it") +
                ", set no LED down any more.";
    else
        text += lifted ? " Leave the strip where it lies now." : " Leave the strip on the plate.";
    return text + " Touch neither until a contact thermometer reads below " + degrees(safeC) + " on both.";
}

} // namespace stripwright
