#include "analysis/solid_heats.h"

#include "materials/drying_bake.h"

namespace stripwright {

namespace {

constexpr double bodyRiseCPerS = 3; // IPC/JEDEC J-STD-020D Table 5-2, average ramp-up rate.
constexpr double bodyFallCPerS = 6; // Same table, ramp-down rate.
// Bi-Pb-Sn melts at 95 to 98 °C (Yoon & Lee, CALPHAD 22 (1998) 167), Sn42Bi58 at 138 °C.
constexpr double bismuthLeadTinC = 96, bismuthTinC = 138;

Limit limitAt(const char* kind, int site, const char* id, const char* what, Metric metric)
{
    const std::string number = std::to_string(site);
    return {.id = std::string(kind) + "_" + number + "/" + id,
            .station = std::string(kind) + "_" + number,
            .what = std::string(what) + ", site " + number,
            .metric = metric};
}

void addSolidJoints(std::vector<Limit>& limits, const BenchSheet& sheet)
{
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site) {
        Limit solid = limitAt("joint", site, "stays_solid", "joint stays solid", Metric::Peak);
        solid.max = staysSolidBelowC(sheet) - solidRoomK;
        limits.push_back(std::move(solid));
    }
}

void addTargetCaps(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    Limit ramp = limitAt("joint", site, "ramp", "steepest heating", Metric::SteepestRise);
    ramp.max = bodyRiseCPerS;
    limits.push_back(std::move(ramp));
    Limit fall = limitAt("joint", site, "steepest_cooling", "steepest cooling", Metric::SteepestFall);
    fall.max = bodyFallCPerS;
    limits.push_back(std::move(fall));
    Limit dielectric = limitAt("dielectric", site, "peak", "dielectric peak", Metric::Peak);
    dielectric.max = sheet.strip.dielectric.maxC;
    dielectric.habit = dielectricCapIsHabit(sheet.strip);
    limits.push_back(std::move(dielectric));
}

} // namespace

double staysSolidBelowC(const BenchSheet& sheet)
{
    if (sheet.oldAlloy)
        return sheet.oldAlloy->movableAboveC;
    return sheet.heat == HeatKind::Bake ? bismuthTinC : bismuthLeadTinC;
}

double bakeTemperatureC(const BenchSheet& sheet)
{
    return sheet.bake.temperatureC.value_or(bakeTemperaturesC.front());
}

std::vector<Limit> releaseLimits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    const std::vector<int> targets = sheet.targets();
    if (!sheet.strip.lens || !sheet.strip.glue)
        return limits;
    const Lens& lens = *sheet.strip.lens;
    const Glue& glue = *sheet.strip.glue;
    for (const int site : targets) {
        if (glue.letsGo) {
            Limit letsGo = limitAt("farfoot", site, "lets_go", "glue lets go at every foot", Metric::Peak);
            letsGo.min = glue.releaseHighC; // What the heat is for, so no habit whatever it was taken from.
            limits.push_back(std::move(letsGo));
            Limit held = limitAt("farfoot", site, "held", "glue soft at every foot", Metric::TimeAbove);
            held.levelC = glue.releaseHighC;
            held.min = handsPerLensS * static_cast<double>(targets.size());
            held.habit = true;
            Limit noLonger =
                limitAt("glue", site, "no_longer", "glue soft no longer than needed", Metric::TimeAbove);
            noLonger.levelC = glue.releaseHighC;
            noLonger.max = *held.min + noLongerS;
            noLonger.habit = true;
            Limit noFurther = limitAt("glue", site, "no_further", "glue no hotter than needed", Metric::Peak);
            noFurther.max = glue.releaseHighC + noFurtherK;
            noFurther.habit = true;
            for (Limit* each : {&held, &noLonger, &noFurther})
                limits.push_back(std::move(*each));
        }
        Limit foot = limitAt("glue", site, "foot", "foot of the lens coming off", Metric::Peak);
        foot.max = lens.footMaxC;
        foot.habit = true;
        limits.push_back(std::move(foot));
        Limit optic = limitAt("lens", site, "peak", "lens peak", Metric::Peak);
        optic.max = lens.bodyMaxC;
        optic.habit = lens.habit.of("body_max_C");
        limits.push_back(std::move(optic));
        addTargetCaps(limits, sheet, site);
        Limit soon = limitAt("joint", site, "time_to_peak", "time to peak", Metric::TimeToPeak);
        soon.max = longestReleaseS;
        soon.habit = true;
        limits.push_back(std::move(soon));
    }
    addSolidJoints(limits, sheet);
    return limits;
}

std::vector<Limit> bakeLimits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    const double temperatureC = bakeTemperatureC(sheet);
    const auto hours = bakeHours(sheet.strip.led, temperatureC, sheet.bake.overFloorLifeH);
    for (const int site : sheet.targets()) {
        if (hours) {
            Limit time =
                limitAt("body", site, "bake_time", "LED body at bake temperature", Metric::TimeAbove);
            time.levelC = temperatureC;
            time.min = *hours * 3600;
            limits.push_back(std::move(time));
        }
        Limit top = limitAt("body", site, "bake_top", "LED body above bake temperature", Metric::Peak);
        top.max = temperatureC + bakeToleranceK;
        top.habit = true;
        limits.push_back(std::move(top));
        addTargetCaps(limits, sheet, site);
    }
    addSolidJoints(limits, sheet);
    return limits;
}

} // namespace stripwright
