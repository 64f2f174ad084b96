#include "analysis/limits.h"

#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <set>

using namespace stripwright;

namespace {

// Three sites, the middle one to be replaced; lenses on the outer two.
BenchSheet sheetOf(HeatKind heat)
{
    BenchSheet sheet;
    sheet.heat = heat;
    sheet.paste.alloy.liquidusC = 219;
    sheet.paste.countLiquidusC = 217;
    sheet.paste.rampCPerS = {.max = 3.0};
    sheet.paste.soakBandC = {.min = 150, .max = 200};
    sheet.paste.soakTimeS = {.min = 60, .max = 120};
    sheet.paste.aboveLiquidusS = {.min = 40, .max = 60};
    sheet.paste.peakC = {.min = 235, .max = 245};
    sheet.paste.coolingCPerS = {.min = 1, .max = 4, .minIsHabit = true};
    sheet.paste.timeToPeakS = {.max = 480};
    sheet.oldAlloy = Alloy{.id = "sn63pb37", .liquidusC = 183};
    sheet.strip.siteXMm = {20, 55, 90};
    sheet.strip.led.bodyMaxC = 260;
    sheet.strip.led.nearMaxS = 20;
    sheet.strip.dielectric.maxC = 255;
    sheet.strip.lens = Lens{.footMaxC = 85, .bodyMaxC = 80};
    sheet.strip.glue = Glue{.maxC = 82};
    sheet.sites = {{.site = 1}, {.site = 2, .state = SiteState::Replace}, {.site = 3}};
    return sheet;
}

const Limit* find(const std::vector<Limit>& limits, const std::string& id)
{
    const auto at = std::find_if(limits.begin(), limits.end(), [&](const Limit& l) { return l.id == id; });
    return at == limits.end() ? nullptr : &*at;
}

struct Points {
    std::vector<double> timeS, valueC;
    Curve curve() const { return {timeS, valueC}; }
};

const Points sac{{0, 100, 190, 225, 235, 275, 335}, {25, 150, 200, 242, 242, 142, 52}};

} // namespace

TEST(Limits, HoldThePastesWindowsForEveryTargetAndNoOtherSite)
{
    const auto limits = limitsOf(sheetOf(HeatKind::Fit));
    const Limit* above = find(limits, "joint_2/above_liquidus");
    ASSERT_TRUE(above);
    EXPECT_EQ(above->station, "joint_2");
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
    for (const Limit& limit : limits)
        EXPECT_TRUE(!limit.station.starts_with("joint_") || limit.station == "joint_2") << limit.id;
}

TEST(Limits, HaveIdsThatOccurOnce)
{
    auto sheet = sheetOf(HeatKind::Swap);
    sheet.paste.aboveLiquidusS.maxIsHabit = true;
    sheet.paste.coolingCPerS.maxIsHabit = true;
    sheet.strip.lens->habit = true;
    std::set<std::string> ids;
    for (const Limit& limit : limitsOf(sheet))
        EXPECT_TRUE(ids.insert(limit.id).second) << limit.id;
}

TEST(Limits, SplitAWindowOnlyWhenOneSideIsSourcedAndTheOtherHabit)
{
    auto sheet = sheetOf(HeatKind::Fit);
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

TEST(Limits, OfAMissingSideAreNotInvented)
{
    auto sheet = sheetOf(HeatKind::Fit);
    sheet.paste.timeToPeakS = {};
    sheet.paste.peakC.max.reset();
    const auto limits = limitsOf(sheet);
    EXPECT_FALSE(find(limits, "joint_2/time_to_peak"));
    EXPECT_FALSE(find(limits, "joint_2/peak")->max);
}

TEST(Limits, TakeTheLowerOfThePastesAndTheBodysCooling)
{
    auto sheet = sheetOf(HeatKind::Fit);
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

TEST(Limits, AskASwapToMeltTheOldAlloyAndAFitNot)
{
    const auto swap = limitsOf(sheetOf(HeatKind::Swap));
    ASSERT_TRUE(find(swap, "joint_2/old_alloy_melts"));
    EXPECT_EQ(find(swap, "joint_2/old_alloy_melts")->min, 183);
    EXPECT_FALSE(find(swap, "joint_2/old_alloy_melts")->habit);
    EXPECT_EQ(find(swap, "joint_2/old_alloy_melts_habit")->min, 198);
    EXPECT_TRUE(find(swap, "joint_2/old_alloy_melts_habit")->habit);
    EXPECT_FALSE(find(limitsOf(sheetOf(HeatKind::Fit)), "joint_2/old_alloy_melts"));
}

TEST(Limits, PlanForTheWorstWhenTheOldAlloyIsUnknown)
{
    auto sheet = sheetOf(HeatKind::Remove);
    sheet.oldAlloy.reset();
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "joint_2/old_alloy_melts")->min, 227);
    EXPECT_EQ(find(limits, "joint_2/old_alloy_melts_habit")->min, 242);
}

TEST(Limits, OfARemovalLeaveThePasteOut)
{
    const auto limits = limitsOf(sheetOf(HeatKind::Remove));
    for (const char* id : {"joint_2/ramp", "joint_2/soak_time", "joint_2/above_liquidus", "joint_2/peak",
                           "joint_2/mean_cooling", "joint_2/time_to_peak"})
        EXPECT_FALSE(find(limits, id)) << id;
    EXPECT_EQ(find(limits, "joint_2/steepest_cooling")->max, 6);
}

TEST(Limits, CapEveryBodyAndOnlyTheLensesThatStay)
{
    auto sheet = sheetOf(HeatKind::Swap);
    sheet.sites[2].lens = LensState::Off;
    const auto limits = limitsOf(sheet);
    for (const char* site : {"1", "2", "3"}) {
        const Limit* peak = find(limits, std::string("body_") + site + "/peak");
        const Limit* near = find(limits, std::string("body_") + site + "/near_max");
        ASSERT_TRUE(peak && near);
        EXPECT_EQ(peak->max, 260);
        EXPECT_EQ(near->levelC, 255);
        EXPECT_EQ(near->max, 20);
    }
    EXPECT_EQ(find(limits, "lens_1/peak")->max, 80);
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82); // Glue below the foot's 85.
    for (const char* id : {"lens_2/peak", "glue_2/peak", "lens_3/peak", "glue_3/peak"})
        EXPECT_FALSE(find(limits, id)) << id;
}

TEST(Limits, KeepTheSourcedGlueCapWhenALowerFootCapIsHabit)
{
    auto sheet = sheetOf(HeatKind::Swap);
    sheet.strip.lens->footMaxC = 75;
    sheet.strip.lens->habit = true;
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82);
    EXPECT_FALSE(find(limits, "glue_1/peak")->habit);
    EXPECT_EQ(find(limits, "glue_1/peak_habit")->max, 75);
    EXPECT_TRUE(find(limits, "lens_1/peak")->habit);

    sheet.strip.lens->footMaxC = 90; // Above the glue's: nothing more to aim at.
    EXPECT_FALSE(find(limitsOf(sheet), "glue_1/peak_habit"));
}

TEST(Measure, TakesEachMetricFromTheCurveOfItsStation)
{
    const auto limits = limitsOf(sheetOf(HeatKind::Fit));
    const auto value = [&](const char* id) { return measure(*find(limits, id), sac.curve()).value(); };
    EXPECT_NEAR(value("joint_2/ramp"), 1.25, 1e-12);
    EXPECT_NEAR(value("joint_2/soak_time"), 90, 1e-12);
    EXPECT_NEAR(value("joint_2/above_liquidus"), 40 + 5.0 / 6, 1e-12);
    EXPECT_NEAR(value("joint_2/peak"), 242, 1e-12);
    EXPECT_NEAR(value("joint_2/mean_cooling"), 2.5, 1e-12);
    EXPECT_NEAR(value("joint_2/steepest_cooling"), 2.5, 1e-12);
    EXPECT_NEAR(value("joint_2/time_to_peak"), 225 - 4,
                1e-12); // From start + 5 K: the curve starts at 25 °C.
}

TEST(Measure, CountsTimeToPeakFrom25DegreesWhenTheCurveStartsBelow)
{
    const Points points{{0, 100, 200}, {15, 215, 50}};
    const Limit limit{.metric = Metric::TimeToPeak, .max = 480};
    EXPECT_NEAR(measure(limit, points.curve()).value(), 100 - 5, 1e-12);
}

TEST(Margin, IsTheDistanceToTheNearestSideAndNegativeOutside)
{
    const Limit limit{.metric = Metric::Peak, .min = 235, .max = 245};
    EXPECT_DOUBLE_EQ(marginOf(limit, 242), 3);
    EXPECT_DOUBLE_EQ(marginOf(limit, 236), 1);
    EXPECT_DOUBLE_EQ(marginOf(limit, 230), -5);
    EXPECT_DOUBLE_EQ(marginOf(limit, 251), -6);
    EXPECT_DOUBLE_EQ(limit.halfWindow(), 5);
}

TEST(Margin, OfAValueThatIsNoneOrNotANumberIsNeverKept)
{
    const Limit least{.metric = Metric::MeanCooling, .min = 1},
        most{.metric = Metric::TimeToPeak, .max = 480},
        fromZero{.metric = Metric::SoakTime, .min = 0, .max = 30};
    EXPECT_DOUBLE_EQ(marginOf(least, {}), -1);
    EXPECT_LT(marginOf(most, {}), 0);
    EXPECT_LT(marginOf(fromZero, {}), 0);
    EXPECT_LT(marginOf(most, std::nan("")), 0);
}

TEST(Margin, OfALoneLimitIsScaledByATenthOfIt)
{
    EXPECT_DOUBLE_EQ((Limit{.metric = Metric::SteepestRise, .max = 3}).halfWindow(), 0.3);
    EXPECT_DOUBLE_EQ((Limit{.metric = Metric::Peak, .max = 85}).halfWindow(), 6); // (85 - 25) / 10
    EXPECT_GT((Limit{.metric = Metric::TimeAbove, .max = 0}).halfWindow(), 0);
    EXPECT_GT((Limit{.metric = Metric::Peak, .min = 200, .max = 200}).halfWindow(), 0);
}

TEST(Margin, OfARowIsTheWorstOfTheCurvesThereAre)
{
    const Limit limit{.station = "joint_2", .metric = Metric::Peak, .min = 235, .max = 245};
    Points cooler = sac;
    for (double& value : cooler.valueC)
        value -= 5;
    const MarginRow row = marginRow(limit, cooler.curve(), sac.curve(), {});
    EXPECT_DOUBLE_EQ(row.low.value(), 237);
    EXPECT_DOUBLE_EQ(row.nominal.value(), 242);
    EXPECT_FALSE(row.high);
    EXPECT_DOUBLE_EQ(row.margin, 2);
    EXPECT_DOUBLE_EQ(row.normalisedMargin, 0.4);

    const Limit soak{.metric = Metric::SoakTime, .levelC = 300, .upperLevelC = 310, .min = 60};
    EXPECT_DOUBLE_EQ(marginRow(soak, {}, sac.curve(), {}).margin, -60);
}

TEST(Margins, AreSortedBrokenLimitsFirstThenBrokenHabitsThenTheRestWorstFirst)
{
    const auto row = [](const char* id, bool habit, double normalised) {
        return MarginRow{
            .limit = {.id = id, .habit = habit}, .margin = normalised, .normalisedMargin = normalised};
    };
    std::vector<MarginRow> rows{row("roomy", false, 2),         row("habit broken far", true, -3),
                                row("tight", false, 0.1),       row("broken", false, -0.5),
                                row("habit tight", true, 0.05), row("habit broken", true, -0.1)};
    sortWorstFirst(rows);
    std::vector<std::string> order;
    for (const MarginRow& r : rows)
        order.push_back(r.limit.id);
    EXPECT_EQ(order, (std::vector<std::string>{"broken", "habit broken far", "habit broken", "habit tight",
                                               "tight", "roomy"}));
}
