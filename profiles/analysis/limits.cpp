#include "analysis/limits.h"

#include "analysis/solid_heats.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

namespace stripwright {

namespace {

constexpr double wettingSuperheatK = 15; // Usual least superheat for wetting; trade habit.
constexpr double bodyFallCPerS = 6;      // IPC/JEDEC J-STD-020D Table 5-2, ramp-down rate.
constexpr double nearBodyMaxK = 5;       // Same table, time within 5 °C of the classification temperature.
constexpr double temperatureZeroC = 25;  // Margins of temperatures are scaled from here.

struct Side {
    std::optional<double> value;
    bool habit = false;
};

std::string atSite(const std::string& what, int site)
{
    return what + ", site " + std::to_string(site);
}

// Sides of one standing make one limit; a sourced side and a habit make one each, the habit's id marked.
void addWindow(std::vector<Limit>& limits, const Limit& limit, Side min, Side max)
{
    for (const bool habit : {false, true}) {
        Limit part = limit;
        part.habit = habit;
        if (min.value && min.habit == habit)
            part.min = min.value;
        if (max.value && max.habit == habit)
            part.max = max.value;
        if (!part.min && !part.max)
            continue;
        const bool otherSideIsSourced = habit && ((min.value && !min.habit) || (max.value && !max.habit));
        if (otherSideIsSourced)
            part.id += "_habit";
        limits.push_back(std::move(part));
    }
}

void addWindow(std::vector<Limit>& limits, const Limit& limit, const Window& window, bool allHabit)
{
    addWindow(limits, limit, Side{window.min, window.minIsHabit || allHabit},
              Side{window.max, window.maxIsHabit || allHabit});
}

// Several caps on one value: the lowest sourced one is the limit, and a habit counts only if it is lower
// still.
void addCaps(std::vector<Limit>& limits, const Limit& limit, std::initializer_list<Side> caps)
{
    Side sourced{{}, false}, habit{{}, true};
    for (const Side& cap : caps)
        if (std::optional<double>& lowest = (cap.habit ? habit : sourced).value; cap.value)
            lowest = std::min(lowest.value_or(*cap.value), *cap.value);
    if (sourced.value && habit.value && *habit.value >= *sourced.value)
        habit.value.reset();
    addWindow(limits, limit, Side{}, sourced);
    if (habit.value) {
        Limit aim = limit;
        if (sourced.value)
            aim.id += "_habit";
        addWindow(limits, aim, Side{}, habit);
    }
}

void addPasteWindows(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const Paste& paste = sheet.paste;
    const bool allHabit = paste.habit.whole, levelIsHabit = paste.habit.of("count_liquidus_C");
    const std::string joint = "joint_" + std::to_string(site);
    const auto limit = [&](const char* id, const char* what, Metric metric, double levelC = 0,
                           double upperC = 0) {
        return Limit{.id = joint + "/" + id,
                     .station = joint,
                     .what = atSite(what, site),
                     .metric = metric,
                     .levelC = levelC,
                     .upperLevelC = upperC};
    };
    addWindow(limits, limit("ramp", "steepest heating", Metric::SteepestRise), paste.rampCPerS, allHabit);
    if (paste.soakBandC.min && paste.soakBandC.max) {
        const bool bandIsHabit = paste.soakBandC.minIsHabit || paste.soakBandC.maxIsHabit;
        addWindow(
            limits,
            limit("soak_time", "soak time", Metric::SoakTime, *paste.soakBandC.min, *paste.soakBandC.max),
            paste.soakTimeS, allHabit || bandIsHabit);
    }
    addWindow(limits, limit("above_liquidus", "time above liquidus", Metric::TimeAbove, paste.countLiquidusC),
              paste.aboveLiquidusS, levelIsHabit);
    addWindow(limits, limit("peak", "joint peak", Metric::Peak), paste.peakC, allHabit);
    if (!paste.peakC.min || paste.peakC.minIsHabit || allHabit) {
        Limit melts = limit("paste_melts", "peak that melts the paste", Metric::Peak);
        melts.min = paste.alloy.liquidusC;
        limits.push_back(std::move(melts));
    }
    addWindow(
        limits,
        limit("mean_cooling", "mean cooling, peak to liquidus", Metric::MeanCooling, paste.countLiquidusC),
        Side{paste.coolingCPerS.min, paste.coolingCPerS.minIsHabit || levelIsHabit}, Side{});
    addWindow(limits, limit("time_to_peak", "time to peak", Metric::TimeToPeak), paste.timeToPeakS, allHabit);
}

void addSteepestFall(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const std::string joint = "joint_" + std::to_string(site);
    const Limit limit{.id = joint + "/steepest_cooling",
                      .station = joint,
                      .what = atSite("steepest cooling", site),
                      .metric = Metric::SteepestFall};
    Side pasteCap;
    if (solders(sheet.heat))
        pasteCap = {sheet.paste.coolingCPerS.max,
                    sheet.paste.coolingCPerS.maxIsHabit || sheet.paste.habit.whole};
    addCaps(limits, limit, {Side{bodyFallCPerS, false}, pasteCap});
}

void addOldAlloyNeed(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const double liquidusC = sheet.oldAlloy ? sheet.oldAlloy->liquidusC : highestOldLiquidusC;
    const std::string joint = "joint_" + std::to_string(site);
    const std::string whose = sheet.oldAlloy ? "old alloy" : "unknown old alloy";
    limits.push_back({.id = joint + "/old_alloy_melts",
                      .station = joint,
                      .what = atSite("peak that melts the " + whose, site),
                      .metric = Metric::Peak,
                      .min = liquidusC});
    limits.push_back({.id = joint + "/old_alloy_melts_habit",
                      .station = joint,
                      .what = atSite("peak with superheat for the " + whose, site),
                      .metric = Metric::Peak,
                      .min = liquidusC + wettingSuperheatK,
                      .habit = true});
}

void addBodyCaps(std::vector<Limit>& limits, const LedPackage& led, int site, bool protects)
{
    const std::string body = "body_" + std::to_string(site);
    limits.push_back({.id = body + "/peak",
                      .station = body,
                      .what = atSite("LED body peak", site),
                      .metric = Metric::Peak,
                      .max = led.bodyMaxC,
                      .habit = led.habit.of("body_max_C"),
                      .protects = protects});
    limits.push_back({.id = body + "/near_max",
                      .station = body,
                      .what = atSite("LED body within 5 K of its cap", site),
                      .metric = Metric::TimeAbove,
                      .levelC = led.bodyMaxC - nearBodyMaxK,
                      .max = led.nearMaxS,
                      .habit = led.habit.of("near_max_s") || led.habit.of("body_max_C"),
                      .protects = protects});
}

void addLensCaps(std::vector<Limit>& limits, const StripType& strip, int site)
{
    const std::string lens = "lens_" + std::to_string(site), glue = "glue_" + std::to_string(site);
    addCaps(limits,
            {.id = lens + "/peak",
             .station = lens,
             .what = atSite("lens peak", site),
             .metric = Metric::Peak,
             .protects = true},
            {Side{strip.lens->bodyMaxC, strip.lens->habit.of("body_max_C")}});
    Side glueCap;
    if (strip.glue)
        glueCap = {strip.glue->holdC, strip.glue->habit.of("hold_C")};
    addCaps(limits,
            {.id = glue + "/peak",
             .station = glue,
             .what = atSite("lens foot and glue peak", site),
             .metric = Metric::Peak,
             .protects = true},
            {Side{strip.lens->footMaxC, strip.lens->habit.of("foot_max_C")}, glueCap});
}

std::optional<double> timeToPeakS(Curve curve)
{
    const auto peak = peakOf(curve);
    if (!peak)
        return {};
    const double startC = curve.valueC[0];
    const auto from = firstRiseThrough(curve, startC < temperatureZeroC ? temperatureZeroC : startC + 5);
    if (!from || *from > peak->atS)
        return {};
    return peak->atS - *from;
}

} // namespace

const char* Limit::unit() const
{
    switch (metric) {
    case Metric::SteepestRise:
    case Metric::MeanCooling:
    case Metric::SteepestFall:
        return "K/s";
    case Metric::SoakTime:
    case Metric::TimeAbove:
    case Metric::TimeToPeak:
        return "s";
    case Metric::Peak:
        break;
    }
    return "°C";
}

static double zeroOf(const Limit& limit)
{
    return limit.metric == Metric::Peak ? temperatureZeroC : 0;
}

double Limit::halfWindow() const
{
    const bool isRate =
        metric == Metric::SteepestRise || metric == Metric::MeanCooling || metric == Metric::SteepestFall;
    const double least = isRate ? 0.1 : 1; // A window without width still needs a scale.
    if (min && max)
        return std::max(least, (*max - *min) / 2);
    const double lone = min ? *min : max.value_or(0);
    return std::max(least, (lone - zeroOf(*this)) / 10);
}

static std::vector<Limit> meltingLimits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    for (const int site : sheet.targets()) {
        if (solders(sheet.heat))
            addPasteWindows(limits, sheet, site);
        addSteepestFall(limits, sheet, site);
        if (sheet.heat != HeatKind::Fit)
            addOldAlloyNeed(limits, sheet, site);
        const std::string dielectric = "dielectric_" + std::to_string(site);
        limits.push_back({.id = dielectric + "/peak",
                          .station = dielectric,
                          .what = atSite("dielectric peak", site),
                          .metric = Metric::Peak,
                          .max = sheet.strip.dielectric.maxC,
                          .habit = dielectricCapIsHabit(sheet.strip)});
    }
    return limits;
}

std::vector<Limit> limitsOf(const BenchSheet& sheet)
{
    std::vector<Limit> limits = sheet.heat == HeatKind::Release ? releaseLimits(sheet)
                                : sheet.heat == HeatKind::Bake  ? bakeLimits(sheet)
                                                                : meltingLimits(sheet);
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site) {
        addBodyCaps(limits, sheet.strip.led, site, sheet.sites[site - 1].state != SiteState::Replace);
        if (sheet.lensStaysOn(site))
            addLensCaps(limits, sheet.strip, site);
    }
    // What the plate may ever be heated to holds whatever it was taken from.
    limits.push_back({.id = "plate/peak",
                      .station = "plate",
                      .what = "plate peak",
                      .metric = Metric::Peak,
                      .max = sheet.plate.maxC});
    return limits;
}

std::optional<double> measure(const Limit& limit, Curve curve)
{
    if (curve.timeS.empty() || curve.valueC.empty())
        return {};
    switch (limit.metric) {
    case Metric::SteepestRise:
        return steepestCPerS(curve, slopeWindowS, +1);
    case Metric::SteepestFall:
        return steepestCPerS(curve, slopeWindowS, -1);
    case Metric::SoakTime:
        return soakTimeS(curve, limit.levelC, limit.upperLevelC);
    case Metric::TimeAbove:
        return timeAboveS(curve, limit.levelC);
    case Metric::MeanCooling:
        return meanCoolingCPerS(curve, limit.levelC);
    case Metric::TimeToPeak:
        return timeToPeakS(curve);
    case Metric::Peak:
        break;
    }
    return peakOf(curve)->valueC;
}

double marginOf(const Limit& limit, std::optional<double> value)
{
    if (!value || std::isnan(*value)) {
        const double side = limit.min ? *limit.min : limit.max.value_or(0);
        return -std::max(limit.halfWindow(), side - zeroOf(limit));
    }
    double margin = std::numeric_limits<double>::infinity();
    if (limit.min)
        margin = std::min(margin, *value - *limit.min);
    if (limit.max)
        margin = std::min(margin, *limit.max - *value);
    return margin;
}

MarginRow marginRow(const Limit& limit, std::optional<Curve> low, std::optional<Curve> nominal,
                    std::optional<Curve> high, std::optional<Curve> warmAir)
{
    MarginRow row{.limit = limit, .margin = std::numeric_limits<double>::infinity()};
    const auto judge = [&](const std::optional<Curve>& curve) -> std::optional<double> {
        if (!curve)
            return {};
        const auto value = measure(limit, *curve);
        row.margin = std::min(row.margin, marginOf(limit, value));
        return value;
    };
    row.low = judge(low);
    row.nominal = judge(nominal);
    row.high = judge(high);
    row.warmAir = judge(warmAir);
    row.normalisedMargin = row.margin / limit.halfWindow();
    return row;
}

int lensSiteOf(const Limit& limit)
{
    if (limit.protects)
        for (const char* kind : {"glue_", "lens_"})
            if (limit.station.rfind(kind, 0) == 0)
                return std::stoi(limit.station.substr(5));
    return 0;
}

std::vector<int> lostLenses(const std::vector<MarginRow>& rows)
{
    std::set<int> sites;
    for (const MarginRow& row : rows)
        if (const int site = lensSiteOf(row.limit); site > 0 && !row.limit.habit && row.margin < 0)
            sites.insert(site);
    return {sites.begin(), sites.end()};
}

void sortWorstFirst(std::vector<MarginRow>& rows)
{
    const auto isBrokenLimit = [](const MarginRow& row) { return row.margin < 0 && !row.limit.habit; };
    std::stable_sort(rows.begin(), rows.end(), [&](const MarginRow& a, const MarginRow& b) {
        return isBrokenLimit(a) != isBrokenLimit(b) ? isBrokenLimit(a)
                                                    : a.normalisedMargin < b.normalisedMargin;
    });
}

} // namespace stripwright
