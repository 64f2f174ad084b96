#include "demo_sheet.h"

#include "planner/plan_sheet.h"
#include "search/shape_search.h"
#include "planner/sink_block_place.h"
#include "planner/what_if.h"

#include <algorithm>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <set>

namespace stripwright {
namespace {

using test::shippedSheet;
using test::shippedShelf;

const WhatIfAnswer& ofSac()
{
    static const WhatIfAnswer answer =
        whatIf(shippedSheet("marram-lane-bar-3-sac305.bench.json"), shippedShelf());
    return answer;
}

const WhatIf* find(const WhatIfAnswer& answer, const std::string& lever, const std::string& words)
{
    for (const WhatIf& one : answer.levers)
        if (one.lever == lever && one.what.find(words) != std::string::npos)
            return &one;
    return nullptr;
}

TEST(WhatIf, TriesEveryKindOfLever)
{
    std::set<std::string> kinds;
    for (const WhatIf& one : ofSac().levers)
        kinds.insert(one.lever);
    EXPECT_THAT(kinds, testing::IsSupersetOf({"lens-off", "sink-block", "fan", "lift", "lift-liquid",
                                              "two-heats", "paste", "contact", "place", "plate", "ramp"}));
    EXPECT_GE(ofSac().levers.size(), 25u);
}

TEST(WhatIf, RanksRunnableHeatsFirstAndThenByLensesThatStay)
{
    const auto& levers = ofSac().levers;
    ASSERT_EQ(levers[0].lever, "lens-off"); // they come off in any case
    for (size_t i = 2; i < levers.size(); ++i) {
        const auto rank = [](const WhatIf& one) {
            return std::tuple(!one.refused, one.worstMargin >= 0, one.lensesThatStay, one.worstMargin);
        };
        EXPECT_GE(rank(levers[i - 1]), rank(levers[i])) << levers[i].what;
    }
}

TEST(WhatIf, SheetOfALeverThatKeepsEveryLimitIsRunnable)
{
    int tried = 0;
    for (const WhatIf& one : ofSac().levers)
        if (one.worstMargin >= 0.1 && one.lever != "two-heats" && ++tried <= 3) {
            EXPECT_TRUE(planSheet(one.sheet).runnable) << one.what;
        }
    EXPECT_GE(tried, 2);
}

TEST(WhatIf, BlockBesideThePlateSavesLensesThatTheModelItselfSeesColder)
{
    const WhatIf* block = find(ofSac(), "sink-block", "Two of");
    ASSERT_TRUE(block);
    EXPECT_GE(block->lensesThatStay, ofSac().lensesThatStay + 2);
    EXPECT_EQ(block->sheet.sinkBlocks.size(), 2u);
    EXPECT_TRUE(blocksFit(block->sheet));
    EXPECT_THAT(block->what, testing::ContainsRegex("lens 3 1[0-9][0-9] to [4-8][0-9] °C"));
}

TEST(WhatIf, TakesNoLensForSavedWhoseJointIsNotMade)
{
    const WhatIf* colder = find(ofSac(), "paste", "Sn42Bi58");
    ASSERT_TRUE(colder);
    EXPECT_GT(colder->lensesThatStay, ofSac().lensesThatStay);
    EXPECT_LT(colder->worstMargin, -1); // its peak does not melt the old joint
    EXPECT_FALSE(colder->helps);
}

TEST(WhatIf, SaysWhyALeverIsRefused)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-3-sac305.bench.json");
    sheet.oldAlloy = *findById(shippedShelf().alloys, "sn63pb37");
    Shelf shelf;
    shelf.pastes = {*findById(shippedShelf().pastes, "sn42bi58-no-clean")};
    const WhatIfAnswer answer = whatIf(sheet, shelf);
    const WhatIf* paste = find(answer, "paste", "bismuth");
    ASSERT_TRUE(paste);
    EXPECT_TRUE(paste->refused);
    EXPECT_FALSE(paste->helps);
    EXPECT_EQ(paste, &answer.levers.back());
    for (const Suggestion& suggestion : helpful(answer))
        EXPECT_NE(suggestion.what, paste->what);
}

TEST(WhatIf, HasNothingToTryWithoutATarget)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    for (SiteOnBench& site : sheet.sites)
        site.state = SiteState::Good;
    EXPECT_TRUE(whatIf(sheet, shippedShelf()).levers.empty());
}

TEST(SinkBlocks, GoWhereTheGlueBeyondThemStaysColdest)
{
    const BenchSheet sheet = shippedSheet("marram-lane-bar-3-sac305.bench.json");
    const SinkBlock block = shippedShelf().sinkBlocks.front();
    const Answer base = searchShape(sheet, {{}, true});
    const auto best = bestBlockPlace(sheet, base, block, false);
    ASSERT_TRUE(best);
    const auto hottestC = [&](double startMm) {
        BenchSheet with = sheet;
        with.sinkBlocks = {{block, startMm}};
        PlateCurve plate{base.predictions[0].timeS, base.reference.plateC};
        const Prediction prediction = predict(with, plate, PredictOptions{});
        double hottest = 0;
        for (int site : {1, 2, 3}) {
            const auto& valueC = prediction.find("glue_" + std::to_string(site))->valueC;
            hottest = std::max(hottest, *std::max_element(valueC.begin(), valueC.end()));
        }
        return hottest;
    };
    for (double gapMm : {15.0, 27.0, 45.0})
        EXPECT_LE(hottestC(best->startMm), hottestC(sheet.plateStartMm - gapMm - block.lengthMm)) << gapMm;
}

TEST(SinkBlocks, LieOnTheStripBesidePlateAndEachOther)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json"); // plate from 162.5 to 222.5 mm
    const SinkBlock block = shippedShelf().sinkBlocks.front();       // 20 mm
    const auto fit = [&](std::vector<double> starts) {
        sheet.sinkBlocks.clear();
        for (double start : starts)
            sheet.sinkBlocks.push_back({block, start});
        return blocksFit(sheet);
    };
    EXPECT_TRUE(fit({142.5, 222.5, 400}));
    EXPECT_FALSE(fit({143}));
    EXPECT_FALSE(fit({222}));
    EXPECT_FALSE(fit({-1}));
    EXPECT_FALSE(fit({401}));
    EXPECT_FALSE(fit({100, 119}));
}

} // namespace
} // namespace stripwright
