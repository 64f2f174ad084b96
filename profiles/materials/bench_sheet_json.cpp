#include "materials/bench_sheet.h"
#include "materials/drying_bake.h"
#include "materials/entry_keys.h"

#include <algorithm>

namespace stripwright {

using nlohmann::json;

static constexpr const char* sheetFormat = "stripwright-bench-sheet";
static constexpr int sheetVersion = 1;
static const std::vector<std::string> swapWayWords = {"solder-left", "tinned-led", "warmed-led",
                                                      "charge-laid-cold", "two-heats"};

namespace {
struct Placement {
    double plateStartMm = 0;
};
} // namespace

template <class Keys> static void keysOf(Keys& keys, Placement& placement)
{
    keys.number("plate_start_mm", placement.plateStartMm, within(-5000, 5000));
}

template <class Keys> static void keysOf(Keys& keys, PlacedSinkBlock& placed)
{
    keys.entry("block", placed.block);
    keys.number("start_mm", placed.startMm, within(0, 5000));
}

// Paste on a hot pad is what a swap was long taken for: it gets its reason, not only the list of words.
static void swapWay(EntryReader& keys, BenchSheet& sheet)
{
    const json* value = keys.fields().optional("way");
    if (value && value->is_string() && value->get<std::string>().find("paste") != std::string::npos)
        keys.fields().report(
            "way", quoted(*value),
            "a way without paste on a hot pad, where its solvents boil at once, spatter and lift the "
            "LED: \"two-heats\" fits with paste from cold");
    else if (value)
        keys.choiceIfAny("way", sheet.way, swapWayWords);
    keys.require({"way", "heat"}, !value || sheet.heat == HeatKind::Swap, value ? *value : json(),
                 "no such key: only a heat of kind \"swap\" has a way");
}

static void swapWay(EntryWriter& keys, BenchSheet& sheet)
{
    if (sheet.heat == HeatKind::Swap)
        keys.choiceIfAny("way", sheet.way, swapWayWords);
}

template <class Keys> static void keysOf(Keys& keys, Hands& hands)
{
    keys.choiceIfAny("pace", hands.pace, {"usual", "quick", "careful", "measured"});
    if (Keys::reading)
        hands = handsOf(hands.pace);
    if (hands.pace != Hands::Pace::Measured)
        return;
    keys.number("first_s", hands.firstS, within(0.5, 120));
    keys.number("lift_s", hands.liftS, within(0.5, 120));
    keys.number("site_s", hands.siteS, within(1, 300));
}

template <class Keys> static void spare(Keys& keys, BenchSheet& sheet)
{
    const bool warmed = sheet.heat == HeatKind::Swap && sheet.way == SwapWay::WarmedLed;
    if (!Keys::reading && !warmed)
        return;
    keys.numberIfAny("spare_mm", sheet.spareMm, within(0, 5000));
    if (!sheet.spareMm)
        return;
    const double x = *sheet.spareMm;
    keys.require({"spare_mm", "way", "heat"}, warmed, x,
                 "no such key: only the way \"warmed-led\" has a spare to lay");
    keys.require({"spare_mm", "placement", "plate", "strip"}, sheet.spareIsClear(), x,
                 "a place on the strip, 10 mm or more off the plate, which lies from " +
                     quoted(sheet.plateStartMm) + " to " + quoted(sheet.plateEndMm()) + " mm");
}

template <class Keys> static void keysOf(Keys& keys, Air& air)
{
    keys.numberIfAny("ambient_C", air.ambientC, within(-20, 60));
    keys.numberIfAny("film_top_W_per_m2K", air.filmTopWPerM2K, within(0.5, 500));
    keys.numberIfAny("film_underside_W_per_m2K", air.filmUndersideWPerM2K, within(0.5, 500));
    keys.numberIfAny("film_side_W_per_m2K", air.filmSideWPerM2K, within(0.5, 500));
    keys.numberIfAny("ambient_range_K", air.ambientRangeK, within(1, 20));
    keys.numberIfAny("film_range_share", air.filmRangeShare, within(0.05, 0.5));
}

template <class Keys> static void keysOf(Keys& keys, Cooling& cooling)
{
    keys.flagIfAny("fan", cooling.fan);
    keys.numberIfAny("lift_below_C", cooling.liftBelowC, within(30, 400));
    keys.flagIfAny("accepts_moving_molten", cooling.acceptsMovingMolten);
}

template <class Keys> static void keysOf(Keys& keys, Service& service)
{
    keys.choiceIfAny("seat", service.seat, {"in_air", "on_metal", "in_closed_profile"});
    keys.numberIfAny("surroundings_C", service.surroundingsC, within(-40, 100));
    keys.numberIfAny("drive_share", service.driveShare, within(0, 3));
}

template <class Keys> static void keysOf(Keys& keys, Bake& bake)
{
    keys.numberIfAny("over_floor_life_h", bake.overFloorLifeH, within(0, 1e6));
    keys.numberIfAny("temperature_C", bake.temperatureC, within(20, 200));
    keys.require({"temperature_C"}, !bake.temperatureC || isBakeTemperature(*bake.temperatureC),
                 bake.temperatureC.value_or(0), "125, 90 or 40, the temperatures of the bake table");
}

template <class Keys> static void keysOf(Keys& keys, SiteOnBench& site)
{
    keys.whole("site", site.site, 1, 400);
    keys.choiceIfAny("state", site.state, {"good", "replace", "later"});
    keys.choiceIfAny("lens", site.lens, {"on", "off", "release"});
    keys.wholeIfAny("passes_before", site.passesBefore, 0, 20);
    if (Keys::reading || site.refitted)
        keys.flagIfAny("refitted", site.refitted);
    keys.textIfAny("note", site.note);
}

// "unknown" is an answer of its own: leaving the key out must not mean it.
static void oldAlloy(EntryReader& keys, std::optional<Alloy>& alloy)
{
    const json* value =
        keys.fields().required("old_alloy", "an id of the shelf (alloy), an alloy's object, or "
                                            "\"unknown\"");
    if (value && *value != "unknown")
        keys.entryIfAny("old_alloy", alloy);
}

static void oldAlloy(EntryWriter& keys, std::optional<Alloy>& alloy)
{
    if (alloy)
        keys.entry("old_alloy", *alloy);
    else
        keys.object()["old_alloy"] = "unknown";
}

static SiteOnBench plainSite(int number)
{
    SiteOnBench site;
    site.site = number;
    return site;
}

// Only what a site has of its own is written; the rest of a strip's sites are good and have their lens on.
template <class Keys> static void sites(Keys& keys, BenchSheet& sheet)
{
    std::vector<SiteOnBench> listed;
    for (const SiteOnBench& site : sheet.sites)
        if (site != plainSite(site.site))
            listed.push_back(site);
    keys.partsIfAny("sites", listed, 400);
    if (!Keys::reading)
        return;
    const int count = static_cast<int>(sheet.strip.siteXMm.size());
    for (int site = 1; site <= count; ++site)
        sheet.sites.push_back(plainSite(site));
    std::set<int> seen;
    for (size_t i = 0; i < listed.size(); ++i) {
        const std::string place = "sites/" + std::to_string(i) + "/site";
        const int site = listed[i].site;
        const bool onStrip = site >= 1 && site <= count;
        keys.require({place, "strip"}, onStrip, site, "a site of the strip, 1 to " + std::to_string(count));
        keys.require({"sites/" + std::to_string(i) + "/lens", "strip"},
                     listed[i].lens != LensState::Release || sheet.strip.lens.has_value(), quoted("release"),
                     "\"on\" or \"off\": this strip type has no lenses");
        keys.require({place}, seen.insert(site).second, site, "each site once; it is listed before");
        if (onStrip)
            sheet.sites[static_cast<size_t>(site - 1)] = listed[i];
    }
}

template <class Keys> static void stripSensor(Keys& keys, BenchSheet& sheet)
{
    // A target whose mark was taken off again leaves a site that no file may name.
    if (!Keys::reading && sheet.stripSensorSite && !sheet.isTarget(*sheet.stripSensorSite))
        return;
    keys.wholeIfAny("strip_sensor_site", sheet.stripSensorSite, 1, 400);
    if (!Keys::reading || !sheet.stripSensorSite)
        return;
    std::string targets;
    for (int site : sheet.targets())
        targets += (targets.empty() ? "" : ", ") + std::to_string(site);
    const bool isTarget = sheet.isTarget(*sheet.stripSensorSite);
    keys.require({"strip_sensor_site", "sites", "strip"}, isTarget, *sheet.stripSensorSite,
                 targets.empty() ? "no such key: the sheet has no target site"
                                 : "a target site, whose joint it can tell about: " + targets);
}

template <class Keys> static void checkPlaces(Keys& keys, const BenchSheet& sheet)
{
    const double length = sheet.strip.lengthMm;
    const double underStrip = std::min(sheet.plateEndMm(), length) - std::max(sheet.plateStartMm, 0.0);
    keys.require({"placement/plate_start_mm", "strip", "plate"}, underStrip >= 1, sheet.plateStartMm,
                 "the plate under at least 1 mm of the strip: from " + quoted(1 - sheet.plate.lengthMm) +
                     " to " + quoted(length - 1));
    for (size_t i = 0; i < sheet.sinkBlocks.size(); ++i) {
        const std::string here = "sink_blocks/" + std::to_string(i), place = here + "/start_mm";
        const double start = sheet.sinkBlocks[i].startMm, end = start + sheet.sinkBlocks[i].block.lengthMm;
        keys.require({place, here, "strip"}, end <= length, start,
                     "the block on the strip: at most " +
                         quoted(length - sheet.sinkBlocks[i].block.lengthMm));
        keys.require({place, here, "placement", "plate"},
                     end <= sheet.plateStartMm || start >= sheet.plateEndMm(), start,
                     "the block beside the plate, which lies from " + quoted(sheet.plateStartMm) + " to " +
                         quoted(sheet.plateEndMm()) + " mm");
        for (size_t j = 0; j < i; ++j) {
            const PlacedSinkBlock& other = sheet.sinkBlocks[j];
            const double otherEnd = other.startMm + other.block.lengthMm;
            keys.require({place, here, "sink_blocks/" + std::to_string(j)},
                         end <= other.startMm || start >= otherEnd, start,
                         "the block beside the one from " + quoted(other.startMm) + " to " +
                             quoted(otherEnd) + " mm");
        }
    }
    for (size_t i = 0; i < sheet.contact.segments.size(); ++i) {
        const double end = sheet.contact.segments[i].endMm;
        keys.require({"contact/segments/" + std::to_string(i) + "/end_mm", "strip"}, end <= length, end,
                     "a segment on the strip: at most " + quoted(length));
    }
}

template <class Keys> static void keysOf(Keys& keys, BenchSheet& sheet)
{
    keys.text("title", sheet.title);
    keys.choiceIfAny("heat", sheet.heat, {"swap", "fit", "remove", "release", "bake"});
    swapWay(keys, sheet);
    if (Keys::reading || sheet.hands != Hands{})
        keys.partIfAny("hands", sheet.hands);
    keys.entry("paste", sheet.paste);
    oldAlloy(keys, sheet.oldAlloy);
    keys.entry("strip", sheet.strip);
    keys.entry("plate", sheet.plate);
    keys.entry("contact", sheet.contact);
    Placement placement{sheet.plateStartMm};
    keys.part("placement", placement);
    sheet.plateStartMm = placement.plateStartMm;
    keys.partsIfAny("sink_blocks", sheet.sinkBlocks, 20);
    keys.partIfAny("cooling", sheet.cooling);
    if (Keys::reading || sheet.bake != Bake{})
        keys.partIfAny("bake", sheet.bake);
    if (Keys::reading)
        sheet.air = stillAir(sheet.strip.widthMm, sheet.air.ambientC);
    keys.partIfAny("air", sheet.air);
    keys.partIfAny("service", sheet.service);
    sites(keys, sheet);
    stripSensor(keys, sheet);
    spare(keys, sheet);
    keys.texts("overrides", sheet.overrides, 50);
    static constexpr std::array overrideNames = {"bismuth-over-lead", "lead-over-bismuth",
                                                 "lens-foot-softens"};
    for (const std::string& name : sheet.overrides)
        keys.require({"overrides"}, std::ranges::find(overrideNames, name) != overrideNames.end(), name,
                     "\"bismuth-over-lead\", \"lead-over-bismuth\" or \"lens-foot-softens\"");
    keys.require({"cooling/fan", "plate"}, !sheet.cooling.fan || sheet.plate.fanLossWPerK > 0, true,
                 "false: the plate has no fan_loss_W_per_K, so a fan's effect on it is not known");
    checkPlaces(keys, sheet);
}

BenchSheet readBenchSheet(const json& value, const std::string& fileName, const std::string& pointer,
                          const Shelf& shelf)
{
    std::vector<Problem> problems;
    BenchSheet sheet;
    const KnownEntries known{shelf};
    EntryReader keys(value, fileName, pointer, known, problems);
    keys.fields().choice("format", {sheetFormat});
    keys.fields().integer("version", sheetVersion, sheetVersion);
    keysOf(keys, sheet);
    keys.finish();
    if (!problems.empty())
        throw BadInput(std::move(problems));
    return sheet;
}

BenchSheet readBenchSheet(const std::string& text, const std::string& fileName, const Shelf& shelf)
{
    std::vector<Problem> problems;
    const auto document = parseDocument(text, fileName, sheetFormat, sheetVersion, problems);
    if (!document)
        throw BadInput(std::move(problems));
    return readBenchSheet(*document, fileName, "", shelf);
}

static json written(BenchSheet sheet, const Shelf* byId)
{
    EntryWriter keys(byId);
    keysOf(keys, sheet);
    keys.object()["format"] = sheetFormat;
    keys.object()["version"] = sheetVersion;
    return keys.object();
}

json toJson(const BenchSheet& sheet)
{
    return written(sheet, nullptr);
}

json toJsonById(const BenchSheet& sheet, const Shelf& shelf)
{
    return written(sheet, &shelf);
}

} // namespace stripwright
