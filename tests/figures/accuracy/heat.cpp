#include "heat.h"

#include "demo_sheet.h"

#include "planner/plan_sheet.h"

#include <cmath>
#include <cstdio>

namespace stripwright::figures {

namespace {

double insideMm(const Station& station, const BenchSheet& sheet)
{
    return std::min(station.xMm - sheet.plateStartMm, sheet.plateEndMm() - station.xMm);
}

} // namespace

Heat heatOf(const test::FiniteElementCase& one)
{
    const auto plateMm = std::to_string(std::lround(one.sheet.plate.lengthMm));
    return {one.name, plateMm + " mm case", one.sheet, one.plate, one.options()};
}

Heat demoHeat()
{
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    Heat heat{"demo: " + plan.sheet.title, "demo", plan.sheet, {plan.timeS, plan.plateC}, {}};
    if (plan.sheet.cooling.fan)
        heat.options.fanFromS = plan.heaterOffS;
    heat.options.liftAtS = plan.liftAtS;
    const double startMm = plan.sheet.plateStartMm, endMm = plan.sheet.plateEndMm();
    heat.options.stripXMm = {
        0, startMm - 20, startMm, (startMm + endMm) / 2, endMm, endMm + 20, plan.sheet.strip.lengthMm};
    return heat;
}

PlateCurve thinned(const PlateCurve& plate, double everyS)
{
    PlateCurve few;
    for (double t = 0; t < plate.timeS.back() - 1e-9; t += everyS) {
        few.timeS.push_back(t);
        few.plateC.push_back(plate.at(t));
    }
    few.timeS.push_back(plate.timeS.back());
    few.plateC.push_back(plate.plateC.back());
    return few;
}

bool isOverPlate(const Station& station, const BenchSheet& sheet)
{
    return insideMm(station, sheet) > edgeMm;
}

std::string placeOf(const Station& station, const BenchSheet& sheet)
{
    const double inMm = insideMm(station, sheet);
    char text[80];
    if (inMm > edgeMm)
        std::snprintf(text, sizeof text, "%s, over the plate", station.name.c_str());
    else if (inMm >= -edgeMm)
        std::snprintf(text, sizeof text, "%s, plate's edge", station.name.c_str());
    else
        std::snprintf(text, sizeof text, "%s, %.0f mm beyond", station.name.c_str(), -inMm);
    return text;
}

} // namespace stripwright::figures
