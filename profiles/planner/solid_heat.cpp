#include "planner/solid_heat.h"

#include "planner/limit_parts.h"
#include "rules/joint_solder.h"
#include "search/plate_reference.h"

#include <algorithm>

namespace stripwright {

void addSolidJoints(std::vector<Limit>& limits, const BenchSheet& sheet)
{
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site) {
        Limit solid = limitAt(StationKind::Joint, site, "stays_solid", "joint stays solid", Metric::Peak);
        solid.max = staysSolidBelowC(sheet) - solidRoomK;
        limits.push_back(std::move(solid));
    }
}

void addSolidTarget(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    Limit ramp = limitAt(StationKind::Joint, site, "ramp", "steepest heating", Metric::SteepestRise);
    ramp.max = bodyRiseCPerS;
    limits.push_back(std::move(ramp));
    Limit fall =
        limitAt(StationKind::Joint, site, "steepest_cooling", "steepest cooling", Metric::SteepestFall);
    fall.max = bodyFallCPerS;
    limits.push_back(std::move(fall));
    Limit dielectric = limitAt(StationKind::Dielectric, site, "peak", "dielectric peak", Metric::Peak);
    dielectric.max = sheet.strip.dielectric.maxC;
    dielectric.habit = dielectricCapIsHabit(sheet.strip);
    limits.push_back(std::move(dielectric));
}

void addCoolDown(HeatPlan& plan, double fromS, const std::string& text)
{
    const double coast = coastS(plan.sheet.plate, plan.plateC.back(), plan.safeBelowC,
                                plan.sheet.air.ambientC, plan.sheet.cooling.fan);
    const double endS = std::max(fromS, plan.timeS.back()) + coast;
    plan.stages.push_back({"cool-down", plan.heaterOffS, endS});
    plan.cards.push_back({"cool-down", fromS, endS, text,
                          plan.sheet.cooling.fan ? "The heater is off and the fan cools it."
                                                 : "The heater is off and it cools by itself.",
                          "Bare aluminium looks cold long before it is.", false});
}

} // namespace stripwright
