#include "demo_sheet.h"
#include "random_sheets.h"

#include "planner/heat_kinds.h"
#include "planner/plan_sheet.h"
#include "planner/sink_block_place.h"
#include "planner/what_if.h"
#include "search/shape_search.h"

#include <algorithm>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <set>

namespace stripwright {
namespace {

using test::shippedSheet;
using test::shippedShelf;

BenchSheet sac(HeatKind heat)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-3-sac305.bench.json");
    sheet.heat = heat;
    return sheet;
}

/// Of a fit, whose paste gives it the most levers.
const WhatIfAnswer& ofSac()
{
    static const WhatIfAnswer answer = whatIf(sac(HeatKind::Fit), shippedShelf());
    return answer;
}

/// The first lever of a kind whose sheet is as asked.
const WhatIf* find(const WhatIfAnswer& answer, const std::string& lever,
                   const std::function<bool(const BenchSheet&)>& asAsked)
{
    for (const WhatIf& one : answer.levers)
        if (one.lever == lever && asAsked(one.sheet))
            return &one;
    return nullptr;
}

TEST(WhatIf, TriesEveryKindOfLever)
{
    std::set<std::string> kinds;
    for (const WhatIf& one : ofSac().levers)
        kinds.insert(one.lever);
    EXPECT_THAT(kinds, testing::IsSupersetOf({"lens-off", "sink-block", "fan", "lift", "lift-liquid", "way",
                                              "paste", "contact", "place", "plate", "ramp"}));
    EXPECT_GE(ofSac().levers.size(), 25u);
}

TEST(WhatIf, RanksRunnableHeatsFirstAndThenByLensesThatStay)
{
    const auto& levers = ofSac().levers;
    ASSERT_EQ(levers[0].lever, "lens-off"); // they come off in any case
    for (size_t i = 2; i < levers.size(); ++i) {
        const auto rank = [](const WhatIf& one) {
            return std::tuple(!one.refused, one.worstMargin >= 0, -one.ledsPastPasses, one.lensesThatStay,
                              one.worstMargin);
        };
        EXPECT_GE(rank(levers[i - 1]), rank(levers[i])) << levers[i].what;
    }
}

TEST(WhatIf, SheetOfALeverThatKeepsEveryLimitIsRunnable)
{
    int tried = 0;
    for (const WhatIf& one : ofSac().levers)
        if (one.worstMargin >= 0.1 && ++tried <= 3) {
            EXPECT_TRUE(planJob(one.sheet).runnable()) << one.what;
        }
    EXPECT_GE(tried, 2);
}

TEST(WhatIf, BlockBesideThePlateSavesLensesThatTheModelItselfSeesColder)
{
    const WhatIf* block =
        find(ofSac(), "sink-block", [](const auto& sheet) { return sheet.sinkBlocks.size() == 2; });
    ASSERT_TRUE(block);
    EXPECT_GE(block->lensesThatStay, ofSac().lensesThatStay + 2);
    EXPECT_TRUE(blocksFit(block->sheet));
    EXPECT_THAT(block->what, testing::ContainsRegex("lens 3 1[0-9][0-9] to [4-8][0-9] °C"));
}

TEST(WhatIf, TellsChangesFromWhereThePlanHasThePlate)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    sheet.plateStartMm = 300;
    const std::vector<HeatAnswer> base = answerJob(sheet);
    ASSERT_EQ(base.size(), 1u);
    ASSERT_LT(base.front().sheet.plateStartMm, 200);
    const WhatIfAnswer answer = whatIf(sheet, shippedShelf(), base);
    EXPECT_GE(answer.levers.size(), 15u);
    for (const WhatIf& one : answer.levers) {
        EXPECT_FALSE(one.refused) << one.what;
        if (one.lever == "sink-block") {
            EXPECT_THAT(one.what, testing::Not(testing::ContainsRegex("[0-9][0-9][0-9] mm before")))
                << one.what;
        }
    }
}

TEST(WhatIf, TakesNoLensForSavedWhoseJointIsNotMade)
{
    Shelf weak;
    weak.plates = {*findById(shippedShelf().plates, "bench-plate-60")};
    weak.plates[0].id = weak.plates[0].name = "weak";
    weak.plates[0].powerW = 15; // it does not come to 220 °C
    const WhatIfAnswer answer = whatIf(sac(HeatKind::Swap), weak);
    const WhatIf* colder = find(answer, "plate", [](const auto& sheet) { return sheet.plate.id == "weak"; });
    ASSERT_TRUE(colder);
    EXPECT_GT(colder->lensesThatStay, answer.lensesThatStay);
    EXPECT_LT(colder->worstMargin, -1);
    EXPECT_FALSE(colder->helps);
    for (const Suggestion& suggestion : helpful(answer))
        EXPECT_NE(suggestion.what, colder->what);
}

TEST(WhatIf, RanksTheOtherWaysToSwapWithTheirFigures)
{
    Shelf none;
    const BenchSheet sheet = sac(HeatKind::Swap);
    const WhatIfAnswer answer = whatIf(sheet, none);
    std::set<SwapWay> ways;
    std::vector<const WhatIf*> ranked;
    for (const WhatIf& one : answer.levers)
        if (one.lever == "way") {
            EXPECT_EQ(one.sheet.heat, HeatKind::Swap);
            EXPECT_TRUE(ways.insert(one.sheet.way).second) << one.what;
            EXPECT_TRUE(one.refused || std::isfinite(one.worstMargin)) << one.what;
            ranked.push_back(&one);
        }
    EXPECT_EQ(ways, (std::set<SwapWay>{SwapWay::TinnedLed, SwapWay::WarmedLed, SwapWay::ChargeLaidCold,
                                       SwapWay::TwoHeats}));
    for (size_t i = 1; i < ranked.size(); ++i)
        if ((ranked[i - 1]->worstMargin >= 0) == (ranked[i]->worstMargin >= 0)) {
            EXPECT_GE(std::tuple(-ranked[i - 1]->ledsPastPasses, ranked[i - 1]->lensesThatStay),
                      std::tuple(-ranked[i]->ledsPastPasses, ranked[i]->lensesThatStay))
                << ranked[i]->what;
        }
    const WhatIf* twice = find(answer, "way", [](const auto& of) { return of.way == SwapWay::TwoHeats; });
    ASSERT_TRUE(twice);
    EXPECT_THAT(twice->what, testing::HasSubstr("in 2 heats; 2 LEDs go past the passes their data allow"));
    EXPECT_EQ(answerJob(twice->sheet, {.quick = true}).size(), 2u);
    // Of a fit every way of a swap is another way, the plainest too.
    EXPECT_TRUE(find(ofSac(), "way", [](const auto& of) {
        return of.heat == HeatKind::Swap && of.way == SwapWay::SolderLeft;
    }));
}

/// Two dead LEDs too far apart for the plate, every lens off.
TEST(WhatIf, CountsAndRanksTheHeatsThatTheJobThenTakes)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    sheet.sites.clear();
    for (int site = 1; site <= 12; ++site)
        sheet.sites.push_back({.site = site,
                               .state = site == 3 || site == 9 ? SiteState::Replace : SiteState::Good,
                               .lens = LensState::Off});
    Shelf plates;
    plates.plates = {*findById(shippedShelf().plates, "bench-plate-100"),
                     *findById(shippedShelf().plates, "bench-plate-300")};
    const WhatIfAnswer answer = whatIf(sheet, plates);
    const WhatIf* large =
        find(answer, "plate", [](const auto& of) { return of.plate.id == "bench-plate-300"; });
    ASSERT_TRUE(large);
    EXPECT_EQ(large->heats, 1) << large->what;
    EXPECT_GE(large->worstMargin, 0) << large->what;
    EXPECT_TRUE(large->helps);
    EXPECT_THAT(large->what, testing::HasSubstr("in one heat"));
    EXPECT_EQ(large, &answer.levers.front()) << answer.levers.front().what;
    const WhatIf* charge =
        find(answer, "way", [](const auto& of) { return of.way == SwapWay::ChargeLaidCold; });
    ASSERT_TRUE(charge);
    EXPECT_EQ(charge->heats, 2) << charge->what;
    EXPECT_THAT(charge->what, testing::StartsWith("Swap with a charge of solder laid cold: "));
}

TEST(WhatIf, SaysWhatLensesOffCostTheHands)
{
    EXPECT_THAT(ofSac().levers[0].what, testing::HasSubstr("take off by a release heat or"));
}

TEST(WhatIf, MeasuresFromThePlansOwnAnswer)
{
    BenchSheet sheet = sac(HeatKind::Swap);
    sheet.sites[0].state = SiteState::Replace; // not on the plate with site 6: two heats
    const std::vector<HeatAnswer> heats = answerJob(sheet);
    ASSERT_EQ(heats.size(), 2u);
    const WhatIfAnswer answer = whatIf(sheet, Shelf{}, heats);
    const JobPlan job = jobPlanOf(sheet, heats);
    std::set<int> lost;
    for (const HeatPlan& plan : job.heats)
        for (const int site : lostLenses(plan.margins))
            lost.insert(site);
    ASSERT_FALSE(lost.empty());
    double worst = INFINITY;
    for (const HeatPlan& plan : job.heats)
        for (const MarginRow& row : plan.margins)
            if (!row.limit.habit && !lost.count(lensSiteOf(row.limit)))
                worst = std::min(worst, row.normalisedMargin);
    EXPECT_EQ(answer.worstMargin, worst);
    EXPECT_EQ(answer.lensesThatStay, 10 - static_cast<int>(lost.size()));
}

/// A fit that needs two changes at once: a contact that is no contact, and a plate that cools too slowly for
/// its paste.
BenchSheet inNeedOfTwo()
{
    BenchSheet sheet = sac(HeatKind::Fit);
    for (SiteOnBench& site : sheet.sites)
        site.lens = LensState::Off;
    sheet.contact = *findById(shippedShelf().contacts, "bowed-0.5mm");
    return sheet;
}

Shelf onlyClamps()
{
    Shelf shelf;
    shelf.contacts = {*findById(shippedShelf().contacts, "clamped-flat")};
    return shelf;
}

TEST(WhatIf, TriesPairsWhereNoChangeAloneIsEnough)
{
    const BenchSheet sheet = inNeedOfTwo();
    const WhatIfAnswer answer = whatIf(sheet, onlyClamps());
    EXPECT_LT(answer.worstMargin, 0);
    int pairs = 0;
    for (const WhatIf& one : answer.levers) {
        const bool pair = one.lever.find('+') != std::string::npos;
        EXPECT_EQ(one.worstMargin >= 0, pair) << one.what; // those that do not run are not shown
        pairs += pair;
    }
    ASSERT_GE(pairs, 1);
    const WhatIf& best = answer.levers.front();
    EXPECT_NE(best.lever.find('+'), std::string::npos);
    EXPECT_THAT(best.what,
                testing::AllOf(testing::HasSubstr(", and "), testing::HasSubstr("every limit is kept")));
    EXPECT_TRUE(best.helps);
    EXPECT_TRUE(planJob(best.sheet).runnable());
}

TEST(WhatIf, TriesNoPairsWhereOneChangeIsEnoughOrNothingIsBroken)
{
    BenchSheet sheet = inNeedOfTwo();
    sheet.cooling.fan = true;
    const WhatIfAnswer one = whatIf(sheet, onlyClamps());
    EXPECT_LT(one.worstMargin, 0);
    const WhatIf* clamped = find(one, "contact", [](const auto&) { return true; });
    ASSERT_TRUE(clamped);
    EXPECT_GE(clamped->worstMargin, 0);
    for (const WhatIf& each : one.levers)
        EXPECT_EQ(each.lever.find('+'), std::string::npos) << each.what;
    sheet.contact = onlyClamps().contacts[0];
    const WhatIfAnswer kept = whatIf(sheet, onlyClamps());
    EXPECT_GE(kept.worstMargin, 0);
    EXPECT_FALSE(kept.levers.empty());
    for (const WhatIf& each : kept.levers)
        EXPECT_EQ(each.lever.find('+'), std::string::npos) << each.what;
}

// A fan that stands by need not blow: it may make a heat better, and never one impossible.
TEST(Fan, NeverMakesAJobImpossible)
{
    const Shelf shelf = shippedShelf();
    int sheets = 0, possible = 0, spoilt = 0;
    for (int number = 100; sheets < 30; ++number) {
        BenchSheet sheet = randomSheet(shelf, 7, number);
        if (number % 2)
            sheet.hands = handsOf(Hands::Pace::Careful);
        if (sheet.plate.fanLossWPerK <= 0)
            continue;
        constexpr double storm = 20; // cools joints faster than hands are
        if (number % 3 == 0)
            sheet.plate.fanLossWPerK *= storm;
        ++sheets;
        const auto done = [&](bool fan) {
            sheet.cooling.fan = fan;
            const std::vector<HeatAnswer> heats = answerJob(sheet, {.quick = true});
            return std::all_of(heats.begin(), heats.end(),
                               [](const HeatAnswer& heat) { return worthOf(heat.answer).done; });
        };
        if (!done(false))
            continue;
        ++possible;
        EXPECT_TRUE(done(true)) << number;
        spoilt += !worthOf(searchShape(taskOf(sheet), {.quick = true})).done;
    }
    EXPECT_GE(possible, 5);
    EXPECT_GE(spoilt, 1) << "no fan here would have done harm: draw other sheets";
}

TEST(WhatIf, SaysWhyALeverIsRefused)
{
    BenchSheet sheet = sac(HeatKind::Fit);
    sheet.oldAlloy = *findById(shippedShelf().alloys, "sn63pb37");
    Shelf shelf;
    shelf.pastes = {*findById(shippedShelf().pastes, "sn42bi58-no-clean")};
    const WhatIfAnswer answer = whatIf(sheet, shelf);
    const WhatIf* paste = find(answer, "paste", [](const auto& of) { return of.paste.alloy.hasBismuth; });
    ASSERT_TRUE(paste);
    EXPECT_TRUE(paste->refused);
    EXPECT_FALSE(paste->helps);
    EXPECT_EQ(paste, &answer.levers.back());
    ASSERT_FALSE(helpful(answer).empty());
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
    const PredictedHeat base = searchShape(taskOf(sheet), {{}, true});
    const auto best = bestBlockPlace(sheet, base, block, false);
    ASSERT_TRUE(best);
    const auto hottestC = [&](double startMm) {
        BenchSheet with = sheet;
        with.sinkBlocks = {{block, startMm}};
        PlateCurve plate{base.predictions[0].timeS, base.reference.plateC};
        const Prediction prediction = predict(with, plate, PredictOptions{});
        double hottest = 0;
        for (int site : {1, 2, 3}) {
            const auto& valueC = prediction.find(StationId{StationKind::Glue, site})->valueC;
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
