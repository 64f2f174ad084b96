#include "demo_sheet.h"

#include "planner/heat_kinds.h"
#include "planner/plan_sheet.h"
#include "planner/solder_melts.h"

#include <algorithm>
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
    plan.curves = {{jointOf(2), {20, 130, 160}, {20, 140, 170}, {20, 140, 180}},
                   {jointOf(6), {20, 120, 150}, {20, 138, 160}, {20, 140, 180}},
                   {jointOf(16), {20, 130, 160}, {20, 140, 175}, {20, 140, 180}}};
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
    EXPECT_EQ(asking(swap), "hands-off watch-solder see-liquid swap-led-6 ");
    sheet.heat = HeatKind::Fit;
    EXPECT_EQ(asking(planSheet(sheet)), "hands-off watch-solder hold-still ");

    nlohmann::json older = toJson(swap);
    for (auto& card : older["cards"])
        card.erase("asks_liquid");
    const HeatPlan read = readHeatPlan(older.dump(), "x");
    EXPECT_EQ(read.cards.size(), swap.cards.size());
    for (const HandCard& card : read.cards)
        EXPECT_FALSE(card.asksLiquid);
}

TEST(HandCards, AskToWatchTheSolderOfEverySiteBeforeTheFirstMayMelt)
{
    HeatPlan plan;
    plan.sheet = test::shippedSheet("marram-lane-bar-7.bench.json"); // 140 °C, solidus 137
    for (SiteOnBench& here : plan.sheet.sites)
        here.state = here.site == 4 || here.site == 6 ? SiteState::Replace : SiteState::Good;
    plan.timeS = {0, 100, 200, 300, 400};
    plan.plateC = {25, 180, 180, 100, 40};
    plan.duty = {1, 1, 0, 0, 0};
    plan.heaterOffS = 200;
    // Site 6 turns far before site 4, the first target and the coldest.
    plan.curves = {{jointOf(4), {20, 90, 160, 80, 40}, {20, 100, 165, 80, 40}, {20, 105, 170, 80, 40}},
                   {jointOf(6), {20, 120, 170, 80, 40}, {20, 140, 175, 80, 40}, {20, 150, 180, 80, 40}}};
    plan.stages = {};
    rulesOf(HeatKind::Swap).stagesAndCards(plan);
    const auto card = [&](const std::string& id) {
        const auto found = std::ranges::find(plan.cards, id, &HandCard::id);
        EXPECT_NE(found, plan.cards.end()) << id;
        return found == plan.cards.end() ? HandCard() : *found;
    };
    const HandCard off = card("hands-off"), watch = card("watch-solder");
    const auto melts = solderMelts(plan.sheet);
    const Curve best{plan.timeS, plan.curves[1].highC};
    EXPECT_NEAR(watch.atS, *firstRiseThrough(best, melts->lowC - melts->pastyK - surelySolidBelowK), 1e-9);
    EXPECT_LT(watch.atS, *firstRiseThrough(best, melts->lowC - melts->pastyK));
    EXPECT_EQ(off.untilS, watch.atS);
    EXPECT_NEAR(watch.untilS, *surelyLiquidFromS(plan, 4), 1e-9) << "until all are liquid at any contact";
    EXPECT_NE(watch.text.find("sites 4, 6"), std::string::npos) << watch.text;
    EXPECT_TRUE(watch.asksLiquid);
}

TEST(HandCards, AskToWatchNothingThatDoesNotComeNearMelting)
{
    HeatPlan plan;
    plan.sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    plan.timeS = {0, 100, 200};
    plan.plateC = {25, 90, 40};
    plan.duty = {1, 0, 0};
    plan.heaterOffS = 100;
    plan.curves = {{jointOf(6), {20, 70, 30}, {20, 80, 30}, {20, 90, 30}}};
    rulesOf(HeatKind::Swap).stagesAndCards(plan);
    EXPECT_EQ(std::ranges::count(plan.cards, "watch-solder", &HandCard::id), 0);
    EXPECT_EQ(std::ranges::count(plan.cards, "hands-off", &HandCard::id), 1);
}

} // namespace
} // namespace stripwright
