#include "rules/passes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

using testing::ElementsAre;

// Sites 1 to 4; site 2 gets a new LED, site 3 has been reworked before. Old joints begin to melt at 217, the
// paste at 138.
BenchSheet sheetOf(HeatKind heat)
{
    BenchSheet sheet;
    sheet.heat = heat;
    sheet.paste.alloy = {.id = "sn42bi57.6ag0.4", .solidusC = 138, .liquidusC = 140, .movableAboveC = 138};
    sheet.oldAlloy = Alloy{.id = "sac305", .solidusC = 217, .liquidusC = 220, .movableAboveC = 217};
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

const std::vector<JointPeak> allHot = {{1, 200, 225}, {2, 210, 235}, {3, 205, 230}, {4, 150, 216.9}};

TEST(Passes, CountAJointThatMayBeginToMeltInAnyScenarioAndTheFactorysPass)
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

TEST(Passes, OfANewLedAreCountedFromWhereThePasteMeltsAndOfTheOthersFromTheOldAlloy)
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

TEST(Passes, CountFromTheSolidusNotFromTheLiquidus)
{
    const std::vector<JointPeak> between = {{1, 200, 217}, {4, 200, 218.5}};
    EXPECT_THAT(passesOf(sheetOf(HeatKind::Fit), between),
                ElementsAre(SitePasses{1, 1, 1, 2, 2}, SitePasses{4, 1, 1, 2, 2}));
}

TEST(Passes, OfARefittedSiteAreCountedFromWhereItsNewSolderMelts)
{
    const std::vector<JointPeak> warm = {{1, 150, 160}, {4, 150, 160}};
    const auto atSite1 = [&](HeatKind heat, SwapWay way, double newC, double oldC) {
        BenchSheet sheet = sheetOf(heat);
        sheet.way = way;
        sheet.paste.alloy.movableAboveC = newC;
        sheet.oldAlloy->movableAboveC = oldC;
        sheet.sites[0].refitted = true;
        const auto passes = passesOf(sheet, warm);
        EXPECT_EQ(passes[1].inThisHeat, oldC <= 160) << "site 4 was never refitted";
        return passes[0].inThisHeat;
    };
    const auto none = SwapWay::SolderLeft;
    EXPECT_EQ(atSite1(HeatKind::Fit, none, 138, 217), 1); // by paste
    EXPECT_EQ(atSite1(HeatKind::Fit, none, 217, 138), 0);
    EXPECT_EQ(atSite1(HeatKind::Swap, SwapWay::TinnedLed, 138, 217), 1); // half of either
    EXPECT_EQ(atSite1(HeatKind::Swap, SwapWay::TinnedLed, 217, 138), 1);
    EXPECT_EQ(atSite1(HeatKind::Swap, SwapWay::SolderLeft, 138, 217), 0); // the old solder again
    EXPECT_EQ(atSite1(HeatKind::Swap, SwapWay::SolderLeft, 217, 138), 1);
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
        ElementsAre("The LED at site 3 has been through 2 reflow passes and would go through one more: its "
                    "data allow 2."));
    const std::vector<SitePasses> several = {
        {4, 2, 1, 3, 2}, {5, 2, 1, 3, 2}, {8, 1, 1, 2, 1}, {9, 3, 0, 3, 2}};
    EXPECT_THAT(
        passWarnings(several),
        ElementsAre(
            "The LED at site 8 has been through 1 reflow pass and would go through one more: its data "
            "allow 1.",
            "The LEDs at sites 4, 5 have been through 2 reflow passes and would go through one more: "
            "their data allow 2."));
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
    EXPECT_EQ(peaks[0].coldestC, 150);
    EXPECT_EQ(peaks[0].hottestC, 170);
    EXPECT_EQ(peaks[1].site, 3);
    EXPECT_EQ(peaks[1].coldestC, 80);
    EXPECT_EQ(peaks[1].hottestC, 99);
}

} // namespace
} // namespace stripwright
