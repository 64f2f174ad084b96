#include "demo_sheet.h"

#include "planner/heat_kinds.h"
#include "planner/plan_sheet.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace stripwright {
namespace {

using nlohmann::json;

const json& document()
{
    static const json plan = toJson(planSheet(test::shippedSheet("marram-lane-bar-7.bench.json")));
    return plan;
}

std::vector<std::string> problemsOf(const json& plan)
{
    std::vector<std::string> texts;
    try {
        readHeatPlan(plan.dump(), "x.plan.json");
    } catch (const BadInput& bad) {
        for (const Problem& problem : bad.problems())
            texts.push_back(problem.text());
    }
    return texts;
}

TEST(HeatPlanJson, ReadsBackToTheSameDocument)
{
    EXPECT_EQ(toJson(readHeatPlan(document().dump(), "x")), document());
}

TEST(HeatPlanJson, CarriesItsSheetSoThatNoShelfIsNeeded)
{
    const HeatPlan plan = readHeatPlan(document().dump(), "x");
    EXPECT_EQ(plan.sheet.paste.alloy.liquidusC, 140);
    EXPECT_EQ(plan.sheet.targets(), std::vector<int>{6});
}

TEST(HeatPlanJson, CarriesThePassesOfEveryLedAndReadsAPlanWithoutThem)
{
    json plan = document();
    ASSERT_EQ(plan.at("passes").size(), 12u);
    EXPECT_EQ(readHeatPlan(plan.dump(), "x").passes[5], (SitePasses{6, 0, 1, 1, 2}));
    plan["passes"][5]["in_this_heat"] = 2;
    EXPECT_THAT(problemsOf(plan),
                testing::ElementsAre(testing::HasSubstr("/passes/5/in_this_heat: found 2")));
    plan.erase("passes");
    EXPECT_TRUE(readHeatPlan(plan.dump(), "x").passes.empty());
}

TEST(HeatPlanJson, CarriesHandsAndNewLedsAndReadsAPlanWithoutThem)
{
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    ASSERT_TRUE(plan.hands && plan.hands->sureFromS);
    HeatPlan read = readHeatPlan(toJson(plan).dump(), "x");
    EXPECT_EQ(read.hands, plan.hands);
    ASSERT_EQ(read.newLeds.size(), 1u);
    ASSERT_EQ(plan.newLeds.size(), 1u);
    const NewLed &led = read.newLeds[0], &planned = plan.newLeds.at(0);
    EXPECT_EQ(led.site, 6);
    EXPECT_EQ(led.setDownS, planned.setDownS);
    EXPECT_EQ(led.startC, planned.startC);
    EXPECT_EQ(led.stepK, planned.stepK);
    EXPECT_EQ(led.padLowestC, planned.padLowestC);
    EXPECT_EQ(led.padLowestAfterS, planned.padLowestAfterS);
    EXPECT_EQ(led.liquidAfterS, planned.liquidAfterS);
    const auto near = testing::Pointwise(testing::DoubleNear(0.005 + 1e-9), planned.timeS); // written to 0.01
    EXPECT_THAT(led.timeS, near);
    EXPECT_THAT(led.bodyC, testing::Pointwise(testing::DoubleNear(0.005 + 1e-9), planned.bodyC));

    read.newLeds[0].liquidAfterS.reset(); // never again, and hands without a sure moment
    read.hands->sureFromS.reset();
    const HeatPlan cold = readHeatPlan(toJson(read).dump(), "x");
    EXPECT_FALSE(cold.newLeds[0].liquidAfterS);
    ASSERT_TRUE(cold.hands);
    EXPECT_FALSE(cold.hands->sureFromS);

    json document = toJson(plan);
    document["new_leds"][0]["body_C"].erase(0);
    document["hands"]["done_s"][0] = -4;
    EXPECT_THAT(problemsOf(document),
                testing::UnorderedElementsAre(testing::HasSubstr("/new_leds/0/body_C: found"),
                                              testing::HasSubstr("/hands/done_s/0: found -4")));
    document.erase("new_leds");
    document.erase("hands");
    read = readHeatPlan(document.dump(), "x");
    EXPECT_TRUE(read.newLeds.empty());
    EXPECT_FALSE(read.hands);
}

TEST(HeatPlanJson, CarriesWhatALimitLeavesOutAndWhenNothingIsAsked)
{
    const BenchSheet sheet =
        test::shippedSheet("marram-lane-bar-3-sac305.bench.json"); // two neighbours melt, too
    const HeatPlan plan = readHeatPlan(toJson(planSheet(sheet)).dump(), "x");
    const std::vector<Limit> limits = limitsOf(sheet);
    std::set<Metric> metrics;
    int skipping = 0, conditional = 0;
    for (const MarginRow& row : plan.margins) {
        metrics.insert(row.limit.metric);
        const auto asked = std::find_if(limits.begin(), limits.end(),
                                        [&](const Limit& one) { return one.id == row.limit.id; });
        ASSERT_NE(asked, limits.end()) << row.limit.id;
        EXPECT_EQ(row.limit.skipS, asked->skipS) << row.limit.id;
        EXPECT_EQ(row.limit.onlyIfReachesC, asked->onlyIfReachesC) << row.limit.id;
        EXPECT_EQ(row.limit.untilReachesC, asked->untilReachesC) << row.limit.id;
        EXPECT_EQ(row.limit.metric, asked->metric) << row.limit.id;
        skipping += row.limit.skipS > 0;
        conditional += row.limit.onlyIfReachesC.has_value();
    }
    EXPECT_EQ(skipping, 1);
    EXPECT_GE(conditional, 2 * 3); // the rates of both
    EXPECT_THAT(metrics, testing::IsSupersetOf({Metric::LiquidForHands, Metric::Wetting, Metric::Shock}));
}

TEST(HeatPlanJson, CarriesItsPlaceAmongTheHeatsOfItsJob)
{
    json plan = document();
    plan["heat"] = 2;
    plan["of_heats"] = 3;
    const HeatPlan read = readHeatPlan(plan.dump(), "x");
    EXPECT_EQ(read.heat, 2);
    EXPECT_EQ(read.ofHeats, 3);
    EXPECT_EQ(toJson(read), plan);
    plan["heat"] = 4;
    EXPECT_THAT(problemsOf(plan), testing::ElementsAre(testing::HasSubstr("/heat: found 4")));
    plan.erase("heat");
    plan.erase("of_heats");
    EXPECT_EQ(readHeatPlan(plan.dump(), "x").ofHeats, 1);
}

TEST(HeatPlanJson, CarriesPartsAndPoorContactAndReadsAPlanWithoutThem)
{
    json plan = document();
    HeatPlan read = readHeatPlan(plan.dump(), "x");
    ASSERT_FALSE(read.parts.empty());
    ASSERT_TRUE(read.joints.at(0).poor);
    read.parts[0].nearC = 77.5;
    read.parts[0].nearMostS = 12;
    EXPECT_EQ(toJson(readHeatPlan(toJson(read).dump(), "x")), toJson(read));
    plan["parts"][0]["low"]["second_lag_s"] = -1;
    plan["cards"][0]["raised"] = "by_chance";
    EXPECT_THAT(problemsOf(plan),
                testing::UnorderedElementsAre(testing::HasSubstr("/parts/0/low/second_lag_s: found -1"),
                                              testing::HasSubstr("/cards/0/raised: found \"by_chance\"")));
    plan = document();
    plan.erase("parts");
    plan["joints"][0].erase("poor");
    plan["cards"][0].erase("raised");
    read = readHeatPlan(plan.dump(), "x");
    EXPECT_TRUE(read.parts.empty());
    EXPECT_FALSE(read.joints.at(0).poor);
    EXPECT_TRUE(read.cards.at(0).comesByTime());
    plan["parts"] = json(25, document()["parts"][0]);
    EXPECT_THAT(problemsOf(plan), testing::ElementsAre(testing::HasSubstr("/parts: found 25 parts")));
}

TEST(HeatPlanJson, ReportsEveryProblemWithItsPlace)
{
    json plan = document();
    plan["trip_above_C"] = "hot";
    plan["duty"][3] = 1.5;
    plan["shets"] = 1;
    EXPECT_THAT(problemsOf(plan),
                testing::UnorderedElementsAre(
                    testing::StartsWith("x.plan.json: /trip_above_C: found \"hot\", expected a number"),
                    testing::StartsWith("x.plan.json: /duty/3: found 1.5, expected a number from 0"),
                    testing::StartsWith("x.plan.json: /duty: found"),
                    testing::StartsWith("x.plan.json: /shets: found an unknown key")));
}

TEST(HeatPlanJson, RefusesAStationThatThereIsNot)
{
    json plan = document();
    plan["curves"][0]["station"] = "joint_06";
    plan["margins"][1]["station"] = "strip_210";
    plan["parts"][0]["station"] = "lens";
    const auto refused = [](const char* at, const char* found) {
        return testing::AllOf(
            testing::StartsWith(std::string("x.plan.json: ") + at + "/station: found " + found),
            testing::HasSubstr("expected plate"), testing::HasSubstr("joint_N"));
    };
    EXPECT_THAT(problemsOf(plan), testing::UnorderedElementsAre(refused("/curves/0", "\"joint_06\""),
                                                                refused("/margins/1", "\"strip_210\""),
                                                                refused("/parts/0", "\"lens\"")));
}

TEST(HeatPlanJson, RefusesCurvesOfUnequalLengthAndTimesThatStandStill)
{
    json plan = document();
    plan["curves"][0]["low_C"].erase(0);
    plan["time_s"][5] = plan["time_s"][4];
    EXPECT_THAT(problemsOf(plan), testing::UnorderedElementsAre(
                                      testing::HasSubstr("/time_s/5: found 4.0, expected a time after"),
                                      testing::HasSubstr("/curves/0/low_C: found")));
}

TEST(HeatPlanJson, RefusesARunnablePlanWithoutACurve)
{
    json plan = document();
    for (const char* key : {"time_s", "plate_C", "duty", "curves"})
        plan[key] = json::array();
    EXPECT_THAT(problemsOf(plan), testing::ElementsAre(testing::HasSubstr("/time_s: found 0 values")));
}

} // namespace
} // namespace stripwright
