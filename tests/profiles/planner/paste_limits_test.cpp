#include "three_sites.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using test::askedOf;
using test::find;
using test::threeSites;

TEST(PasteLimits, HoldThePastesWindowsForEveryTargetAndNoOtherSite)
{
    const auto limits = limitsOf(threeSites(HeatKind::Fit));
    const Limit* above = find(limits, "joint_2/above_liquidus");
    ASSERT_TRUE(above);
    EXPECT_EQ(above->station, jointOf(2));
    EXPECT_EQ(above->metric, Metric::TimeAbove);
    EXPECT_EQ(above->levelC, 217); // The paste's own count, not the alloy's liquidus.
    EXPECT_EQ(above->min, 40);
    EXPECT_EQ(above->max, 60);
    EXPECT_FALSE(above->habit);
    EXPECT_EQ(above->what, "time above liquidus, site 2");
    const Limit* soak = find(limits, "joint_2/soak_time");
    ASSERT_TRUE(soak);
    EXPECT_EQ(soak->levelC, 150);
    EXPECT_EQ(soak->upperLevelC, 200);
    for (const char* id : {"joint_2/ramp", "joint_2/peak", "joint_2/time_to_peak", "joint_2/mean_cooling",
                           "joint_2/steepest_cooling", "dielectric_2/peak"})
        EXPECT_TRUE(find(limits, id)) << id;
    EXPECT_FALSE(askedOf(limits, "joint_2").empty());
    EXPECT_TRUE(askedOf(limits, "joint_1").empty());
    EXPECT_TRUE(askedOf(limits, "joint_3").empty());
}

TEST(PasteLimits, SplitAWindowOnlyWhenOneSideIsSourcedAndTheOtherHabit)
{
    auto sheet = threeSites(HeatKind::Fit);
    sheet.paste.aboveLiquidusS.maxIsHabit = true;
    auto limits = limitsOf(sheet);
    const Limit *sourced = find(limits, "joint_2/above_liquidus"),
                *habit = find(limits, "joint_2/above_liquidus_habit");
    ASSERT_TRUE(sourced && habit);
    EXPECT_EQ(sourced->min, 40);
    EXPECT_FALSE(sourced->max);
    EXPECT_FALSE(sourced->habit);
    EXPECT_EQ(habit->max, 60);
    EXPECT_FALSE(habit->min);
    EXPECT_TRUE(habit->habit);

    sheet.paste.aboveLiquidusS.minIsHabit = true;
    limits = limitsOf(sheet);
    const Limit* whole = find(limits, "joint_2/above_liquidus");
    ASSERT_TRUE(whole);
    EXPECT_TRUE(whole->habit);
    EXPECT_EQ(whole->min, 40);
    EXPECT_EQ(whole->max, 60);
    EXPECT_FALSE(find(limits, "joint_2/above_liquidus_habit"));
}

TEST(PasteLimits, OfAMissingSideAreNotInvented)
{
    auto sheet = threeSites(HeatKind::Fit);
    sheet.paste.timeToPeakS = {};
    sheet.paste.peakC.max.reset();
    const auto limits = limitsOf(sheet);
    EXPECT_FALSE(find(limits, "joint_2/time_to_peak"));
    EXPECT_FALSE(find(limits, "joint_2/peak")->max);
}

TEST(PasteLimits, TakeTheLowerOfThePastesAndTheBodysCooling)
{
    auto sheet = threeSites(HeatKind::Fit);
    EXPECT_EQ(find(limitsOf(sheet), "joint_2/steepest_cooling")->max, 4);
    sheet.paste.coolingCPerS.max = 8;
    EXPECT_EQ(find(limitsOf(sheet), "joint_2/steepest_cooling")->max, 6);
    sheet.paste.coolingCPerS.max.reset();
    EXPECT_EQ(find(limitsOf(sheet), "joint_2/steepest_cooling")->max, 6);

    sheet.paste.coolingCPerS = {.max = 4, .maxIsHabit = true};
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "joint_2/steepest_cooling")->max, 6);
    EXPECT_FALSE(find(limits, "joint_2/steepest_cooling")->habit);
    EXPECT_EQ(find(limits, "joint_2/steepest_cooling_habit")->max, 4);
    EXPECT_TRUE(find(limits, "joint_2/steepest_cooling_habit")->habit);
}

} // namespace
} // namespace stripwright
