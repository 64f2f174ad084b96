#include "loop/runnable_plan.h"

#include "interlocks/over_temperature.h"
#include "loop/heat_bounds.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

using Reasons = std::vector<std::string>;

[[gnu::format(printf, 2, 3)]] static void add(Reasons& reasons, const char* format, ...)
{
    char text[400];
    va_list values;
    va_start(values, format);
    std::vsnprintf(text, sizeof text, format, values);
    va_end(values);
    reasons.push_back(text);
}

static bool bad(double value)
{
    return !std::isfinite(value);
}

static bool anyBad(const std::vector<double>& values)
{
    return std::any_of(values.begin(), values.end(), bad);
}

static bool badResponse(const PlateResponse& response)
{
    return bad(response.gain) || bad(response.lagS) || bad(response.worstErrorK) ||
           bad(response.secondLagS) || bad(response.secondShare);
}

static bool curvesHold(const HeatPlan& plan, Reasons& reasons)
{
    const size_t before = reasons.size(), points = plan.timeS.size();
    if (points < 2 || plan.plateC.size() != points || plan.duty.size() != points)
        add(reasons, "the plan's curves need at least two points of equal number");
    if (anyBad(plan.timeS) || anyBad(plan.plateC) || anyBad(plan.duty) ||
        std::adjacent_find(plan.timeS.begin(), plan.timeS.end(), std::greater_equal<>()) != plan.timeS.end())
        add(reasons, "the plan's curves hold a value that is no number, or times that do not rise");
    for (const JointModel& joint : plan.joints)
        if (badResponse(joint.low) || badResponse(joint.nominal) || badResponse(joint.high) ||
            (joint.poor && badResponse(*joint.poor)))
            add(reasons, "the plan's joint of site %d follows the plate by a value that is no number",
                joint.site);
    for (const PartModel& part : plan.parts)
        if (badResponse(part.low) || badResponse(part.nominal) || badResponse(part.high) || bad(part.maxC))
            add(reasons, "the plan's part %s follows the plate by a value that is no number",
                part.station.name().c_str());
    for (const Stage& stage : plan.stages)
        if (bad(stage.startS) || bad(stage.endS))
            add(reasons, "the plan's stage %s begins or ends at no number", stage.name.c_str());
    return reasons.size() == before;
}

static void checkTimes(const HeatPlan& plan, Reasons& reasons)
{
    const double lastS = plan.timeS.back();
    const double mostS = plan.sheet.heat == HeatKind::Bake ? longestBakeS : longestHeatS;
    if (!(plan.heaterOffS <= lastS))
        add(reasons, "the plan ends its heat at %.0f s, after the end of its own curves at %.0f s",
            plan.heaterOffS, lastS);
    if (!(plan.heaterOffS <= mostS))
        add(reasons, "the plan heats for %.0f s, at most %.0f s is allowed for this kind of heat",
            plan.heaterOffS, mostS);
    if (!(lastS <= mostS + longestCoolingS))
        add(reasons, "the plan lasts %.0f s, at most %.0f s is allowed with its cooling", lastS,
            mostS + longestCoolingS);
}

static void checkTemperatures(const HeatPlan& plan, std::optional<double> highestC, Reasons& reasons)
{
    const double hottestC = *std::max_element(plan.plateC.begin(), plan.plateC.end());
    const bool linkSays = highestC && std::isfinite(*highestC) && *highestC > 0;
    const double mostC =
        linkSays ? std::min(*highestC, OverTemperature::hottestEverC) : OverTemperature::hottestEverC;
    const char* const whose = linkSays && mostC == *highestC ? "of this plate's link (plate_max_C, or "
                                                               "sensor_max_C)"
                                                             : "for any plate";
    constexpr double leastRoomK = 3; // a reading strays that far from a path well followed
    if (!(hottestC <= mostC))
        add(reasons, "the plan heats the plate to %.1f °C, the highest temperature %s is %.1f °C", hottestC,
            whose, mostC);
    else if (!(mostC - hottestC >= leastRoomK))
        add(reasons,
            "the plan heats the plate to %.1f °C, heat ends at once at %.1f °C, the highest temperature %s: "
            "expected at least %.0f K between them; plan cooler, or raise that limit if the plate allows it",
            hottestC, mostC, whose, leastRoomK);
    // Above the link's highest alone it is no harm: heat ends at once at the lower of the two.
    if (!(plan.tripAboveC <= OverTemperature::hottestEverC))
        add(reasons,
            "the plan turns heat off at once only at %.1f °C, the highest temperature for any plate "
            "is %.1f °C",
            plan.tripAboveC, OverTemperature::hottestEverC);
    if (plan.sheet.heat == HeatKind::Bake && !(hottestC <= bakeMostC))
        add(reasons, "the plan bakes at up to %.1f °C, a bake stays below %.0f °C", hottestC, bakeMostC);
}

// The checks compare with the measured plate, the path was made for the sheet's: both must be one plate.
static void checkPlate(const PlateType& planned, const IdentifiedPlate& measured, Reasons& reasons)
{
    constexpr double mostApart = 0.25;
    const auto apart = [](double plan, double plate) { return !(std::abs(plan / plate - 1) <= mostApart); };
    if (apart(planned.heatCapacityJPerK, measured.heatCapacityJPerK) ||
        apart(planned.powerW, measured.powerW))
        add(reasons,
            "the plan was made for a plate of %.0f J/K and %.0f W, this plate was measured as %.0f J/K and "
            "%.0f W, more than %.0f %% apart: put the measured figures into the bench sheet and plan again, "
            "or tune the plate again",
            planned.heatCapacityJPerK, planned.powerW, measured.heatCapacityJPerK, measured.powerW,
            100 * mostApart);
}

std::vector<std::string> whyNotRunnable(const HeatPlan& plan,
                                        const std::optional<IdentifiedPlate>& identified,
                                        std::optional<double> highestC)
{
    Reasons reasons = plan.refusals;
    if (!plan.runnable)
        add(reasons, "the plan breaks a limit and is marked not runnable");
    const bool curves = curvesHold(plan, reasons);
    if (!(plan.heaterOffS > 0) || bad(plan.heaterOffS))
        add(reasons, "the plan does not say when the heat ends");
    if (!(plan.tripAboveC > 0) || bad(plan.tripAboveC))
        add(reasons, "the plan does not say at which temperature heat goes off at once");
    if (plan.liftAtS && bad(*plan.liftAtS))
        add(reasons, "the plan's moment of lifting the strip is no number");
    const PlateType& plate = plan.sheet.plate;
    for (double figure : {plate.heatCapacityJPerK, plate.powerW, plate.maxC})
        if (!(figure > 0) || bad(figure))
            add(reasons, "the plan's plate lacks its heat capacity, power or highest temperature");
    for (double figure :
         {plate.lossWPerK, plate.radiatingAreaM2, plate.elementLagS, plate.sensorLagS, plate.deadTimeS})
        if (!(figure >= 0) || bad(figure))
            add(reasons, "the plan's plate lacks a loss, a lag or its dead time");
    if (bad(plan.sheet.air.ambientC))
        add(reasons, "the plan's ambient temperature is no number");
    if (curves) {
        checkTimes(plan, reasons);
        checkTemperatures(plan, highestC, reasons);
    }
    if (identified)
        checkPlate(plate, *identified, reasons);
    return reasons;
}

} // namespace stripwright
