#include "demo_sheet.h"

#include "planner/plan_sheet.h"
#include "planner/solder_melts.h"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace stripwright {
namespace {

BenchSheet sheetOf(HeatKind heat)
{
    BenchSheet sheet;
    sheet.heat = heat;
    sheet.paste.alloy = Alloy{.id = "paste", .solidusC = 217, .liquidusC = 220};
    sheet.oldAlloy = Alloy{.id = "old", .solidusC = 138, .liquidusC = 138};
    return sheet;
}

TEST(SolderMelts, IsTheOldJointsWhereItComesOffAndThePastesWhereNothingElseIsThere)
{
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Remove}) {
        EXPECT_EQ(solderMelts(sheetOf(heat))->lowC, 138);
        EXPECT_TRUE(solderMelts(sheetOf(heat))->known());
    }
    EXPECT_EQ(solderMelts(sheetOf(HeatKind::Fit))->highC, 220);
    EXPECT_EQ(solderMelts(sheetOf(HeatKind::Fit))->pastyK, 3);
    for (const HeatKind heat : {HeatKind::Release, HeatKind::Bake})
        EXPECT_FALSE(solderMelts(sheetOf(heat)));
}

TEST(SolderMelts, OfAnUnknownOldAlloyIsTheWholeRange)
{
    BenchSheet sheet = sheetOf(HeatKind::Remove);
    sheet.oldAlloy.reset();
    EXPECT_FALSE(solderMelts(sheet)->known());
    EXPECT_EQ(solderMelts(sheet)->lowC, 138);
    EXPECT_EQ(solderMelts(sheet)->highC, 227);
}

TEST(SolderMelts, TheSiteToWatchIsTheCardsOwnOrTheColdestTarget)
{
    HeatPlan plan;
    plan.sheet = sheetOf(HeatKind::Swap);
    for (const int site : {2, 6, 16})
        plan.sheet.sites.push_back({.site = site, .state = SiteState::Replace});
    plan.timeS = {0, 100, 200};
    plan.curves = {{"joint_2", {20, 130, 160}, {20, 140, 170}, {20, 140, 180}},
                   {"joint_6", {20, 120, 150}, {20, 138, 160}, {20, 140, 180}},
                   {"joint_16", {20, 130, 160}, {20, 140, 175}, {20, 140, 180}}};
    EXPECT_EQ(siteToWatch(plan, {.id = "swap-led-16"}), 16);
    EXPECT_EQ(siteToWatch(plan, {.id = "swap-led-6"}), 6);
    EXPECT_EQ(siteToWatch(plan, {.id = "hands-off"}), 6);
    EXPECT_EQ(siteToWatch(plan, {.id = "sink-block-1"}), 6) << "a number that is no target";
    EXPECT_EQ(siteToWatch(HeatPlan(), {.id = "hands-off"}), 0);
    EXPECT_NEAR(*surelyLiquidFromS(plan, 2), 100 + 100 * 8.0 / 30, 1e-9);
    EXPECT_FALSE(surelyLiquidFromS(plan, 3));
}

TEST(HandCards, AskAboutSolderFromThePreheatOnAndWhereHandsWorkOnIt)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const auto asking = [](const HeatPlan& plan) {
        std::string ids;
        for (const HandCard& card : readHeatPlan(toJson(plan).dump(), "x").cards)
            if (card.asksLiquid)
                ids += card.id + ' ';
        return ids;
    };
    sheet.heat = HeatKind::Swap;
    const HeatPlan swap = planSheet(sheet);
    EXPECT_EQ(asking(swap), "hands-off see-liquid swap-led-6 ");
    EXPECT_EQ(asking(swap).find("hold-still"), std::string::npos);
    sheet.heat = HeatKind::Fit;
    EXPECT_EQ(asking(planSheet(sheet)), "hands-off hold-still ");

    nlohmann::json older = toJson(swap);
    for (auto& card : older["cards"])
        card.erase("asks_liquid");
    for (const HandCard& card : readHeatPlan(older.dump(), "x").cards)
        EXPECT_FALSE(card.asksLiquid);
}

} // namespace
} // namespace stripwright
