#include "planner/heat_kinds.h"
#include "planner/release_heat.h"
#include "rules/joint_solder.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

// Four sites; lens 2 comes off in a release, lens 4 is off.
BenchSheet sheetOf(HeatKind heat)
{
    BenchSheet sheet;
    sheet.heat = heat;
    sheet.oldAlloy = Alloy{.id = "sac305", .solidusC = 217, .liquidusC = 220, .movableAboveC = 215};
    sheet.paste.rampCPerS = {.max = 1};
    sheet.paste.aboveLiquidusS = {.min = 40, .max = 60};
    sheet.strip.siteXMm = {20, 55, 90, 125};
    sheet.strip.led.bodyMaxC = 260;
    sheet.strip.led.heightMm = 0.8;
    sheet.strip.led.moistureLevel = "3";
    sheet.strip.dielectric.maxC = 255;
    sheet.strip.lens = Lens{.footMaxC = 85, .bodyMaxC = 80};
    sheet.strip.glue = Glue{.holdC = 82, .releaseLowC = 90, .releaseHighC = 100};
    sheet.sites = {{.site = 1},
                   {.site = 2, .state = SiteState::Replace},
                   {.site = 3, .lens = LensState::Release},
                   {.site = 4, .lens = LensState::Off}};
    return sheet;
}

const Limit* find(const std::vector<Limit>& limits, const std::string& id)
{
    const auto at = std::find_if(limits.begin(), limits.end(), [&](const Limit& l) { return l.id == id; });
    return at == limits.end() ? nullptr : &*at;
}

TEST(ReleaseLimits, TheFarFeetMustReachLettingGoAndTheNearOnesGoNoFurther)
{
    const auto limits = limitsOf(sheetOf(HeatKind::Release));
    for (const char* site : {"2", "3"}) {
        const Limit* letsGo = find(limits, std::string("farfoot_") + site + "/lets_go");
        ASSERT_TRUE(letsGo);
        EXPECT_EQ(letsGo->min, 100);
        EXPECT_FALSE(letsGo->habit);
        const Limit* noFurther = find(limits, std::string("glue_") + site + "/no_further");
        ASSERT_TRUE(noFurther);
        EXPECT_EQ(noFurther->max, 115);
        EXPECT_TRUE(noFurther->habit);
    }
    EXPECT_FALSE(find(limits, "farfoot_1/lets_go"));
    EXPECT_FALSE(find(limits, "farfoot_4/lets_go"));
}

TEST(ReleaseLimits, AskTheFarFeetForTheUpperEndOfTheReleaseThoughItIsHabit)
{
    BenchSheet sheet = sheetOf(HeatKind::Release);
    sheet.strip.glue->habit.values = {"release_low_C", "release_high_C"};
    sheet.strip.glue->releaseHighC = 130;
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "farfoot_3/lets_go")->min, 130);
    EXPECT_FALSE(find(limits, "farfoot_3/lets_go")->habit);
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82) << "where it must hold";
    sheet.strip.lens->habit.values = {"body_max_C"};
    EXPECT_TRUE(find(limitsOf(sheet), "lens_3/peak")->habit);
    sheet.strip.dielectric.habit.values = {"max_C"};
    EXPECT_TRUE(find(limitsOf(sheet), "dielectric_3/peak")->habit);
}

TEST(ReleaseLimits, HoldTheGlueSoftForEachLensInTurn)
{
    BenchSheet sheet = sheetOf(HeatKind::Release);
    EXPECT_EQ(find(limitsOf(sheet), "farfoot_3/held")->min, 2 * handsPerLensS);
    sheet.sites[1].lens = LensState::Off;
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "farfoot_3/held")->min, handsPerLensS);
    EXPECT_EQ(find(limits, "farfoot_3/held")->levelC, 100);
    EXPECT_TRUE(find(limits, "farfoot_3/held")->habit);
    EXPECT_GT(*find(limits, "glue_3/no_longer")->max, handsPerLensS);
}

TEST(ReleaseLimits, KeepTheOpticAndTheLensesThatStayButNotTheGlueThatLetsGo)
{
    const auto limits = limitsOf(sheetOf(HeatKind::Release));
    EXPECT_EQ(find(limits, "lens_3/peak")->max, 80);
    EXPECT_FALSE(find(limits, "lens_3/peak")->habit);
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82);
    EXPECT_FALSE(find(limits, "glue_3/peak"));
    EXPECT_TRUE(find(limits, "glue_3/foot")->habit);
    EXPECT_FALSE(find(limits, "lens_4/peak"));
}

TEST(ReleaseLimits, AskNothingOfGlueThatNeverLetsGo)
{
    BenchSheet sheet = sheetOf(HeatKind::Release);
    sheet.strip.glue->letsGo = false;
    const auto limits = limitsOf(sheet);
    EXPECT_FALSE(find(limits, "farfoot_3/lets_go"));
    EXPECT_TRUE(find(limits, "lens_3/peak"));
}

TEST(SolidHeats, KeepEveryJointOfTheStripSolidAndAskNothingOfThePaste)
{
    for (const HeatKind heat : {HeatKind::Release, HeatKind::Bake}) {
        const auto limits = limitsOf(sheetOf(heat));
        for (const char* site : {"1", "2", "3", "4"}) {
            const Limit* solid = find(limits, std::string("joint_") + site + "/stays_solid");
            ASSERT_TRUE(solid) << site;
            EXPECT_EQ(solid->max, 215 - solidRoomK);
            EXPECT_FALSE(solid->habit);
            // The LED that a release is made for is dead; one that is dried is to live.
            const bool dead = heat == HeatKind::Release && std::string(site) == "2";
            EXPECT_EQ(find(limits, std::string("body_") + site + "/peak") == nullptr, dead) << site;
        }
        EXPECT_FALSE(find(limits, "joint_2/above_liquidus"));
        EXPECT_FALSE(find(limits, "joint_2/old_alloy_melts"));
        EXPECT_TRUE(find(limits, "plate/peak"));
    }
}

// Traces of Bi-Pb-Sn melt at 95 to 98 °C (Yoon & Lee, CALPHAD 22 (1998) 167): hands must not find them
// liquid.
TEST(SolidHeats, UnknownSolderMayMoveSoonerUnderHandsThanInABake)
{
    BenchSheet sheet = sheetOf(HeatKind::Release);
    sheet.oldAlloy.reset();
    EXPECT_EQ(staysSolidBelowC(sheet), 96);
    sheet.heat = HeatKind::Bake;
    EXPECT_EQ(staysSolidBelowC(sheet), 138);
}

TEST(BakeLimits, HoldTheTargetsBodiesAtTheTableSTemperatureForItsTime)
{
    BenchSheet sheet = sheetOf(HeatKind::Bake);
    const auto limits = limitsOf(sheet);
    const Limit* time = find(limits, "body_2/bake_time");
    ASSERT_TRUE(time);
    EXPECT_EQ(time->metric, Metric::TimeAbove);
    EXPECT_EQ(time->levelC, 125);
    EXPECT_EQ(time->min, 9 * 3600);
    EXPECT_FALSE(time->habit);
    EXPECT_EQ(find(limits, "body_2/bake_top")->max, 130);
    EXPECT_TRUE(find(limits, "body_2/bake_top")->habit);
    EXPECT_FALSE(find(limits, "body_1/bake_time"));
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82);
    sheet.bake = {.overFloorLifeH = 20, .temperatureC = 90};
    const auto colder = limitsOf(sheet);
    EXPECT_EQ(find(colder, "body_2/bake_time")->levelC, 90);
    EXPECT_EQ(find(colder, "body_2/bake_time")->min, 23 * 3600);
}

} // namespace
} // namespace stripwright
