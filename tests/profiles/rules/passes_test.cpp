#include "rules/passes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

using testing::ElementsAre;

// Sites 1 to 4; site 2 gets a new LED, site 3 has been reworked before. Old joints melt at 220, the paste at
// 140.
BenchSheet sheetOf(HeatKind heat)
{
    BenchSheet sheet;
    sheet.heat = heat;
    sheet.paste.alloy.liquidusC = 140;
    sheet.oldAlloy = Alloy{.id = "sac305", .liquidusC = 220};
    sheet.strip.led.passesAllowed = 2;
    sheet.strip.siteXMm = {20, 55, 90, 125};
    sheet.sites = {
        {.site = 1},
        {.site = 2, .state = SiteState::Replace, .passesBefore = 2},
        {.site = 3, .passesBefore = 2},
        {.site = 4},
    };
    return sheet;
}

const std::vector<JointPeak> allHot = {{1, 200, 225}, {2, 210, 235}, {3, 205, 230}, {4, 150, 219.9}};

TEST(Passes, CountAJointThatReachesItsLiquidusAtAnyContactAndTheFactorysPass)
{
    EXPECT_THAT(passesOf(sheetOf(HeatKind::Fit), allHot),
                ElementsAre(SitePasses{1, 1, 1, 2, 2}, SitePasses{2, 0, 1, 1, 2}, SitePasses{3, 2, 1, 3, 2},
                            SitePasses{4, 1, 0, 1, 2}));
}

TEST(Passes, OfALedThatGoesToWasteAreNotCounted)
{
    EXPECT_THAT(passesOf(sheetOf(HeatKind::Remove), allHot),
                ElementsAre(SitePasses{1, 1, 1, 2, 2}, SitePasses{3, 2, 1, 3, 2}, SitePasses{4, 1, 0, 1, 2}));
}

TEST(Passes, OfANewLedAreCountedAtThePastesLiquidusAndOfTheOthersAtTheOldOne)
{
    const std::vector<JointPeak> warm = {{1, 150, 160}, {2, 150, 160}, {3, 150, 160}, {4, 150, 160}};
    const auto onlyTheNewOne = ElementsAre(SitePasses{1, 1, 0, 1, 2}, SitePasses{2, 0, 1, 1, 2},
                                           SitePasses{3, 2, 0, 2, 2}, SitePasses{4, 1, 0, 1, 2});
    EXPECT_THAT(passesOf(sheetOf(HeatKind::Fit), warm), onlyTheNewOne);
    BenchSheet tinned = sheetOf(HeatKind::Swap);
    tinned.way = SwapWay::TinnedLed;
    EXPECT_THAT(passesOf(tinned, warm), onlyTheNewOne);
    // On the solder that the old LED left the paste has no say.
    EXPECT_THAT(passesOf(sheetOf(HeatKind::Swap), warm)[1], (SitePasses{2, 0, 0, 0, 2}));
}

TEST(Passes, OfALedThatWaitsForAnotherHeatAreNotCounted)
{
    BenchSheet sheet = sheetOf(HeatKind::Swap);
    sheet.sites[3].state = SiteState::Later;
    EXPECT_THAT(passesOf(sheet, allHot),
                ElementsAre(SitePasses{1, 1, 1, 2, 2}, SitePasses{2, 0, 1, 1, 2}, SitePasses{3, 2, 1, 3, 2}));
}

TEST(Passes, OfAnUnknownOldAlloyAreCountedFromTheLowestThatItMayMeltAt)
{
    BenchSheet sheet = sheetOf(HeatKind::Swap);
    sheet.oldAlloy.reset();
    const std::vector<JointPeak> cool = {{1, 120, 137.9}, {4, 120, 138}};
    EXPECT_THAT(passesOf(sheet, cool), ElementsAre(SitePasses{1, 1, 0, 1, 2}, SitePasses{4, 1, 1, 2, 2}));
}

TEST(PassWarnings, NameTheLedsThatTheHeatTakesTooFar)
{
    EXPECT_THAT(
        passWarnings(passesOf(sheetOf(HeatKind::Swap), allHot)),
        ElementsAre("Site 3's LED has been above liquidus 2 times and would be again: its data allow 2."));
    const std::vector<SitePasses> several = {
        {4, 2, 1, 3, 2}, {5, 2, 1, 3, 2}, {8, 1, 1, 2, 1}, {9, 3, 0, 3, 2}};
    EXPECT_THAT(
        passWarnings(several),
        ElementsAre("Site 8's LED has been above liquidus once and would be again: its data allow 1.",
                    "The LEDs at sites 4, 5 have been above liquidus 2 times and would be again: their data "
                    "allow 2."));
}

TEST(JointPeaks, AreTheLowestAndHighestOverThePredictions)
{
    BenchSheet sheet = sheetOf(HeatKind::Swap);
    const auto prediction = [](std::vector<double> joint1, std::vector<double> joint3) {
        Prediction made;
        made.stations.push_back({{.name = "joint_1", .kind = StationKind::Joint, .site = 1}, joint1});
        made.stations.push_back({{.name = "joint_3", .kind = StationKind::Joint, .site = 3}, joint3});
        return made;
    };
    const std::vector<Prediction> levels = {prediction({20, 150, 140}, {20, 90, 95}),
                                            prediction({20, 170, 150}, {20, 80, 60}),
                                            prediction({20, 160, 165}, {20, 99, 98})};
    const std::vector<JointPeak> peaks = jointPeaksOf(sheet, levels);
    ASSERT_EQ(peaks.size(), 2u);
    EXPECT_EQ(peaks[0].site, 1);
    EXPECT_EQ(peaks[0].poorestC, 150);
    EXPECT_EQ(peaks[0].hottestC, 170);
    EXPECT_EQ(peaks[1].site, 3);
    EXPECT_EQ(peaks[1].poorestC, 80);
    EXPECT_EQ(peaks[1].hottestC, 99);
}

} // namespace
} // namespace stripwright
