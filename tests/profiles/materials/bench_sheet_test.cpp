#include "expect_problem.h"

#include "materials/free_convection.h"

#include <nlohmann/json.hpp>

namespace stripwright {
namespace {

using nlohmann::json;

/// Everything a sheet can say, with numbers that no short decimal holds and no member at its default.
BenchSheet fullSheet(const Shelf& shelf)
{
    BenchSheet sheet;
    sheet.title = "bar 9, \"two dark\" – Süd";
    sheet.heat = HeatKind::Fit;
    sheet.paste = shelf.pastes[0];
    sheet.strip = *findById(shelf.strips, "growbar-420-12");
    sheet.strip.lengthMm = 420 + 1.0 / 3;
    sheet.strip.jointThicknessUm = 77.7;
    sheet.strip.dielectric.volumetricHeatJPerM3K = 1.9e6;
    sheet.strip.copper = {70, 385, 3.4e6, false};
    sheet.strip.habit = {.whole = true};
    sheet.strip.led.conductivityWPerMK = 0.7;
    sheet.strip.led.volumetricHeatJPerM3K = 1.8e6;
    sheet.strip.led.nearMaxS = 12;
    sheet.strip.led.passesAllowed = 3;
    sheet.strip.led.moistureLevel = "2a";
    sheet.strip.led.habit.values = {"body_max_C", "near_max_s"};
    sheet.strip.lens->footCount = 4;
    sheet.strip.lens->habit = {.whole = true};
    sheet.strip.dielectric.habit.values = {"max_C"};
    sheet.strip.core.conductivityLowWPerMK = 130.5;
    sheet.strip.core.conductivityHighWPerMK = 231.5;
    sheet.strip.core.habit.values = {"conductivity_W_per_mK"};
    sheet.strip.glue = *findById(shelf.glues, "rtv-silicone");
    sheet.paste.alloy.movableAboveC = 210;
    sheet.paste.alloy.habit = {.whole = true};
    sheet.paste.alloy.composition = Composition{0.92, 0, 0, 1.0 / 30, 0.04};
    sheet.paste.countLiquidusC = 228;
    sheet.plate = shelf.plates[0];
    sheet.contact = shelf.contacts[1];
    sheet.contact.segments = {{10, 40.1, 500.0 / 7}, {40.1, 200, 900}};
    sheet.plateStartMm = 0.1 + 0.2;
    sheet.sinkBlocks = {{shelf.sinkBlocks[0], 70.7}, {shelf.sinkBlocks[1], 100}};
    sheet.air = {21.3, 14.1 / 3, 7.7, 9.9};
    sheet.cooling = {true, 130.3, true};
    sheet.service = Service{Seat::InClosedProfile, 41.7, 1.0 / 3};
    sheet.bake = {50.5, 90};
    for (int site = 1; site <= 12; ++site) {
        sheet.sites.emplace_back();
        sheet.sites.back().site = site;
    }
    sheet.sites[1].state = SiteState::Replace;
    sheet.sites[2].lens = LensState::Off;
    sheet.sites[3].passesBefore = 0;
    sheet.sites[4].lens = LensState::Release;
    sheet.sites[11].note = "chipped";
    sheet.stripSensorSite = 2;
    sheet.overrides = {"bismuth-over-lead"};
    return sheet;
}

TEST(BenchSheet, ReadsBackFromItsInlineFormWithAnEmptyShelf)
{
    const BenchSheet sheet = fullSheet(shippedShelf());
    EXPECT_EQ(readBenchSheet(toJson(sheet).dump(), "inline", Shelf{}), sheet);
}

TEST(BenchSheet, ReadsBackFromInsideALargerDocument)
{
    const BenchSheet sheet = fullSheet(shippedShelf());
    const json plan = {{"sheet", toJson(sheet)}};
    EXPECT_EQ(readBenchSheet(plan.at("sheet"), "plan", "/sheet", Shelf{}), sheet);
}

TEST(BenchSheet, NamesUnchangedEntriesByIdAndWritesChangedOnesInline)
{
    const Shelf shelf = shippedShelf();
    const BenchSheet sheet = fullSheet(shelf);
    const json written = toJsonById(sheet, shelf);
    EXPECT_TRUE(written.at("paste").is_object());
    EXPECT_EQ(written.at("plate"), sheet.plate.id);
    EXPECT_EQ(written.at("old_alloy"), "unknown");
    EXPECT_EQ(written.at("sink_blocks").at(0).at("block"), sheet.sinkBlocks[0].block.id);
    EXPECT_TRUE(written.at("strip").is_object()); // Its length was changed, ...
    EXPECT_TRUE(written.at("strip").at("led").is_object());
    EXPECT_EQ(written.at("strip").at("glue"), "rtv-silicone"); // ... its glue is the shelf's.
    EXPECT_TRUE(written.at("contact").is_object());
    EXPECT_EQ(readBenchSheet(written.dump(), "by id", shelf), sheet);
}

TEST(BenchSheet, ListsOnlySitesThatDiffer)
{
    const json written = toJson(fullSheet(shippedShelf()));
    std::vector<int> sites;
    for (const json& site : written.at("sites"))
        sites.push_back(site.at("site"));
    EXPECT_THAT(sites, testing::ElementsAre(2, 3, 4, 5, 12));
}

TEST(BenchSheet, WritesNoStripSensorAtASiteThatIsNoTargetAnyMore)
{
    BenchSheet sheet = fullSheet(shippedShelf());
    EXPECT_EQ(toJson(sheet).at("strip_sensor_site"), 2);
    sheet.sites[1].state = SiteState::Good;
    EXPECT_FALSE(toJson(sheet).contains("strip_sensor_site"));
}

TEST(BenchSheet, FillsWhatASheetLeavesOut)
{
    const Shelf shelf = shippedShelf();
    const json least = {{"format", "stripwright-bench-sheet"},
                        {"version", 1},
                        {"title", "least"},
                        {"paste", "sac305-no-clean"},
                        {"old_alloy", "unknown"},
                        {"strip", "growbar-420-12"},
                        {"plate", "bench-plate-60"},
                        {"contact", "resting"},
                        {"placement", {{"plate_start_mm", 100}}}};
    const BenchSheet sheet = readBenchSheet(least.dump(), "least", shelf);
    EXPECT_EQ(sheet.heat, HeatKind::Swap);
    EXPECT_FALSE(sheet.oldAlloy);
    EXPECT_FALSE(sheet.cooling.fan);
    EXPECT_FALSE(sheet.cooling.liftBelowC);
    EXPECT_FALSE(sheet.service);
    EXPECT_EQ(sheet.air, stillAir(12, 23));
    ASSERT_EQ(sheet.sites.size(), 12u);
    for (int site = 1; site <= 12; ++site) {
        EXPECT_EQ(sheet.sites[static_cast<size_t>(site - 1)].site, site);
        EXPECT_TRUE(sheet.lensStaysOn(site));
    }
    EXPECT_THAT(sheet.targets(), testing::IsEmpty());
}

TEST(BenchSheet, FilmsFollowTheWidthOfTheSheetsOwnStripWhenOnlyTheAmbientIsGiven)
{
    const Shelf shelf = shippedShelf();
    json sheet = toJsonById(fullSheet(shelf), shelf);
    sheet["air"] = {{"ambient_C", 30}};
    EXPECT_EQ(readBenchSheet(sheet.dump(), "air", shelf).air, stillAir(12, 30));
}

TEST(BenchSheet, LensStaysOnlyWhereItIsOnAndNothingIsReplaced)
{
    BenchSheet sheet = fullSheet(shippedShelf());
    EXPECT_TRUE(sheet.lensStaysOn(1));
    EXPECT_FALSE(sheet.lensStaysOn(2));
    EXPECT_FALSE(sheet.lensStaysOn(3));
    EXPECT_FALSE(sheet.lensStaysOn(0));
    EXPECT_FALSE(sheet.lensStaysOn(13));
    sheet.strip.lens.reset();
    EXPECT_FALSE(sheet.lensStaysOn(1));
}

TEST(BenchSheet, TargetsAreTheSitesMarkedReplace)
{
    EXPECT_THAT(fullSheet(shippedShelf()).targets(), testing::ElementsAre(2));
}

TEST(BenchSheet, EveryKindOfHeatReadsBack)
{
    const Shelf shelf = shippedShelf();
    for (const HeatKind heat :
         {HeatKind::Swap, HeatKind::Fit, HeatKind::Remove, HeatKind::Release, HeatKind::Bake}) {
        BenchSheet sheet = fullSheet(shelf);
        sheet.heat = heat;
        EXPECT_EQ(readBenchSheet(toJsonById(sheet, shelf).dump(), "kind", shelf), sheet);
    }
}

TEST(BenchSheet, AReleaseTakesOffTheLensesMarkedForItAndThoseOverReplacedLeds)
{
    BenchSheet sheet = fullSheet(shippedShelf()); // site 2 replace, lens on; 3 off; 5 release
    sheet.heat = HeatKind::Release;
    EXPECT_THAT(sheet.targets(), testing::ElementsAre(2, 5));
    for (const int site : {2, 5}) {
        EXPECT_TRUE(sheet.lensIsThere(site));
        EXPECT_FALSE(sheet.lensStaysOn(site));
    }
    EXPECT_FALSE(sheet.lensIsThere(3));
    EXPECT_TRUE(sheet.lensStaysOn(1));
    sheet.sites[1].lens = LensState::Off;
    EXPECT_THAT(sheet.targets(), testing::ElementsAre(5));
}

TEST(BenchSheet, InEveryOtherHeatALensToReleaseCountsAsOff)
{
    BenchSheet sheet = fullSheet(shippedShelf());
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Fit, HeatKind::Remove, HeatKind::Bake}) {
        sheet.heat = heat;
        EXPECT_FALSE(sheet.lensIsThere(5));
        EXPECT_THAT(sheet.targets(), testing::ElementsAre(2));
    }
}

TEST(StillAir, IsFreeConvectionOfAStripInMidHeat)
{
    const FreeConvection film = freeConvection(12, 150, 25);
    const Air air = stillAir(12, 30);
    EXPECT_EQ(air.filmTopWPerM2K, film.upWPerM2K);
    EXPECT_EQ(air.filmUndersideWPerM2K, film.downWPerM2K);
    EXPECT_DOUBLE_EQ(air.filmSideWPerM2K, 10);
    EXPECT_EQ(air.ambientC, 30);
}

} // namespace
} // namespace stripwright
