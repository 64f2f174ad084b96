#include "planner/limit_parts.h"

#include "rules/joint_solder.h"
#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

static std::string atSite(const std::string& what, int site)
{
    return what + ", site " + std::to_string(site);
}

Limit limitAt(StationKind kind, int site, const char* id, const char* what, Metric metric, double levelC)
{
    const StationId station{kind, site};
    return {.id = station.name() + "/" + id,
            .station = station,
            .what = atSite(what, site),
            .metric = metric,
            .levelC = levelC};
}

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

void addBodyCaps(std::vector<Limit>& limits, StationKind kind, const LedPackage& led, int site, bool protects)
{
    constexpr double nearMaxK =
        5; // IPC/JEDEC J-STD-020D Table 5-2, time within 5 °C of the classification temperature.
    constexpr double longC = 217, longestS = 150; // Same table, time above 217 °C.
    Limit peak = limitAt(kind, site, "peak", "LED body peak", Metric::Peak);
    peak.max = led.bodyMaxC;
    peak.habit = led.habit.of("body_max_C");
    Limit near = limitAt(kind, site, "near_max", "LED body within 5 K of its cap", Metric::TimeAbove,
                         led.bodyMaxC - nearMaxK);
    near.max = led.nearMaxS;
    near.habit = led.habit.of("near_max_s") || peak.habit;
    Limit time = limitAt(kind, site, "above_217", "LED body above 217 °C", Metric::TimeAbove, longC);
    time.max = longestS;
    for (Limit* each : {&peak, &near, &time}) {
        each->protects = protects;
        if (protects && each->metric == Metric::TimeAbove)
            each->onlyIfReachesC = each->levelC;
        limits.push_back(std::move(*each));
    }
}

void addBodyRates(std::vector<Limit>& limits, const LedPackage& led, int site, bool protects)
{
    constexpr double fromC = 150;     // Where the table's average ramp begins.
    constexpr double thickMaxC = 240; // Tin-lead classification: at most 6 minutes to the peak, else 8.
    Limit rise = limitAt(StationKind::Body, site, "ramp", "LED body, steepest heating", Metric::SteepestRise);
    rise.max = bodyRiseCPerS;
    Limit toPeak =
        limitAt(StationKind::Body, site, "time_to_peak", "LED body, time to its peak", Metric::TimeToPeak);
    toPeak.max = led.bodyMaxC <= thickMaxC ? 360 : 480;
    Limit fall = limitAt(StationKind::Body, site, "steepest_cooling", "LED body, steepest cooling",
                         Metric::SteepestFall);
    fall.max = bodyFallCPerS;
    for (Limit* each : {&rise, &toPeak, &fall}) {
        each->protects = protects;
        each->onlyIfReachesC = fromC;
        limits.push_back(std::move(*each));
    }
}

void addDielectricCaps(std::vector<Limit>& limits, const StripType& strip, int site)
{
    constexpr double hotC = 250, longestS = 60; // Working cap of the trade.
    Limit peak = limitAt(StationKind::Dielectric, site, "peak", "dielectric peak", Metric::Peak);
    peak.max = strip.dielectric.maxC;
    peak.habit = dielectricCapIsHabit(strip);
    Limit time = limitAt(StationKind::Dielectric, site, "above_250", "dielectric above 250 °C",
                         Metric::TimeAbove, hotC);
    time.max = longestS;
    time.habit = true;
    limits.push_back(std::move(peak));
    limits.push_back(std::move(time));
}

static void addLensCaps(std::vector<Limit>& limits, const StripType& strip, int site)
{
    Limit lens = limitAt(StationKind::Lens, site, "peak", "lens peak", Metric::Peak);
    Limit glue = limitAt(StationKind::Glue, site, "peak", "lens foot and glue peak", Metric::Peak);
    lens.protects = glue.protects = true;
    addCaps(limits, lens, {Side{strip.lens->bodyMaxC, strip.lens->habit.of("body_max_C")}});
    Side glueCap;
    if (strip.glue)
        glueCap = {strip.glue->holdC, strip.glue->habit.of("hold_C")};
    addCaps(limits, glue, {Side{strip.lens->footMaxC, strip.lens->habit.of("foot_max_C")}, glueCap});
}

void addKeptPartsOfSolidHeat(std::vector<Limit>& limits, const BenchSheet& sheet)
{
    for (const SiteOnBench& here : sheet.sites) {
        if (here.state == SiteState::Good)
            addBodyCaps(limits, StationKind::Body, sheet.strip.led, here.site, true);
        if (sheet.lensStaysOn(here.site))
            addLensCaps(limits, sheet.strip, here.site);
    }
    // What the plate may ever be heated to holds whatever it was taken from.
    limits.push_back({.id = "plate/peak",
                      .station = {StationKind::Plate},
                      .what = "plate peak",
                      .metric = Metric::Peak,
                      .max = sheet.plate.maxC});
    const ContactCondition& contact = sheet.contact;
    if (contact.maxC)
        limits.push_back({.id = "plate/contact_peak",
                          .station = {StationKind::Plate},
                          .what = "plate peak that the contact stands: " + lowered(contact.name),
                          .metric = Metric::Peak,
                          .max = contact.maxC,
                          .habit = contact.habit.of("max_C")});
}

void addKeptParts(std::vector<Limit>& limits, const BenchSheet& sheet)
{
    for (const SiteOnBench& here : sheet.sites)
        if (here.state == SiteState::Good)
            addBodyRates(limits, sheet.strip.led, here.site, true);
    addKeptPartsOfSolidHeat(limits, sheet);
}

void addOldAlloyNeed(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    const std::string whose = sheet.oldAlloy ? "old alloy" : "unknown old alloy";
    Limit melts = limitAt(StationKind::Joint, site, "old_alloy_melts",
                          ("peak that melts the " + whose).c_str(), Metric::Peak);
    melts.min = oldMeltsC(sheet);
    Limit superheat = limitAt(StationKind::Joint, site, "old_alloy_melts_habit",
                              ("peak with superheat for the " + whose).c_str(), Metric::Peak);
    superheat.min = oldMeltsC(sheet) + wettingSuperheatK;
    superheat.habit = true;
    limits.push_back(std::move(melts));
    limits.push_back(std::move(superheat));
}

void addLiquidTotal(std::vector<Limit>& limits, const BenchSheet& sheet, int site)
{
    Limit liquid = limitAt(StationKind::Joint, site, "liquid_total", "time liquid in all", Metric::TimeAbove,
                           oldMeltsC(sheet));
    liquid.max = mostLiquidS;
    liquid.habit = true;
    limits.push_back(std::move(liquid));
}

} // namespace stripwright
