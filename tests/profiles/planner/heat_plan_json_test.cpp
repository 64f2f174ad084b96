#include "demo_sheet.h"

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
