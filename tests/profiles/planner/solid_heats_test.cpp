#include "demo_sheet.h"
#include "materials/drying_bake.h"
#include "planner/bake_plan.h"
#include "planner/heat_kinds.h"
#include "planner/plan_sheet.h"
#include "planner/release_heat.h"
#include "planner/what_if.h"
#include "search/scenario.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace stripwright {
namespace {

using test::shippedSheet;
using test::shippedShelf;
using testing::ElementsAre;
using testing::HasSubstr;

BenchSheet release()
{
    return shippedSheet("marram-lane-bar-5-release.bench.json");
}

const HeatPlan& releasePlan()
{
    static const HeatPlan plan = planSheet(release());
    return plan;
}

/// Site 6 of the demo bar dried, the lenses next to it off.
BenchSheet bake(const std::string& level)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    sheet.heat = HeatKind::Bake;
    sheet.oldAlloy = *findById(shippedShelf().alloys, "sac305");
    sheet.strip.led.moistureLevel = level;
    sheet.strip.led.habit = {};
    return sheet;
}

const HeatPlan& bakePlan()
{
    static const HeatPlan plan = planSheet(bake("3"));
    return plan;
}

const MarginRow* row(const HeatPlan& plan, const std::string& id)
{
    for (const MarginRow& each : plan.margins)
        if (each.limit.id == id)
            return &each;
    return nullptr;
}

const PlanCurve* curve(const HeatPlan& plan, const std::string& station)
{
    for (const PlanCurve& each : plan.curves)
        if (each.station.name() == station)
            return &each;
    return nullptr;
}

const HandCard* card(const HeatPlan& plan, const std::string& id)
{
    for (const HandCard& each : plan.cards)
        if (each.id == id)
            return &each;
    return nullptr;
}

void expectLimitsKept(const HeatPlan& plan)
{
    EXPECT_TRUE(plan.runnable);
    EXPECT_GE(plan.margins.size(), 10u);
    for (const MarginRow& each : plan.margins)
        if (!each.limit.habit) {
            EXPECT_GE(each.margin, 0) << each.limit.id;
        }
}

TEST(ReleasePlan, WarmsEveryFootToLettingGoAtEveryContactWithEveryJointSolid)
{
    expectLimitsKept(releasePlan());
    const MarginRow* letsGo = row(releasePlan(), "farfoot_4/lets_go");
    ASSERT_TRUE(letsGo);
    EXPECT_GE(*letsGo->low, 130);
    EXPECT_GE(row(releasePlan(), "farfoot_4/held")->margin, 0);
    EXPECT_LT(*row(releasePlan(), "joint_4/stays_solid")->high, 217);
}

TEST(ReleasePlan, LensesThatStayKeepTheirGlueAndTheirsIsColderThanTheOneThatLetsGo)
{
    const MarginRow* neighbour = row(releasePlan(), "glue_5/peak");
    ASSERT_TRUE(neighbour);
    EXPECT_LE(*neighbour->high, 80);
    EXPECT_FALSE(row(releasePlan(), "glue_4/peak"));
}

TEST(ReleasePlan, FarFootIsTheColderSideOfTheLens)
{
    BenchSheet sheet = release();
    sheet.plateStartMm -= 20; // lens off the middle of the plate
    const Prediction prediction = predict(sheet, {{0, 60, 200}, {23, 120, 120}}, {});
    const double near = prediction.find("glue_4")->valueC.back();
    EXPECT_LT(prediction.find("farfoot_4")->valueC.back(), near - 1);
    sheet.heat = HeatKind::Swap;
    EXPECT_FALSE(predict(sheet, {{0, 60}, {23, 120}}, {}).find("farfoot_4"));
    EXPECT_FALSE(predict(sheet, {{0, 60}, {23, 120}}, {}).find("glue_4"));
}

TEST(ReleasePlan, IsOverInMinutes)
{
    EXPECT_LT(releasePlan().heaterOffS, longestReleaseS);
}

TEST(ReleasePlan, TwistsEachLensOnlyWhileItsGlueIsSoftAtThePoorestContact)
{
    BenchSheet sheet = release();
    sheet.sites[2].lens = LensState::Release;
    sheet.plate = *findById(shippedShelf().plates, "bench-plate-120");
    sheet.plateStartMm = 160; // sites 3 and 4 at 175 and 245 mm
    const SinkBlock block = sheet.sinkBlocks.front().block;
    sheet.sinkBlocks = {{block, 130}, {block, 285}};
    const HeatPlan plan = planSheet(sheet);
    double before = 0;
    int lenses = 0;
    for (const HandCard& each : plan.cards)
        if (each.id.starts_with("release-lens-")) {
            const PlanCurve* foot = curve(plan, "farfoot_" + each.id.substr(13));
            ASSERT_TRUE(foot);
            EXPECT_GE(foot->lowC[static_cast<size_t>(std::ceil(each.atS))], 129.9) << each.id;
            EXPECT_GE(each.atS, before);
            EXPECT_GE(each.untilS - each.atS, handsPerLensS - 1e-9);
            before = each.untilS;
            ++lenses;
        }
    EXPECT_EQ(lenses, 2);
}

TEST(ReleasePlan, CardsAskForMarksAndGlovesFirst)
{
    for (const char* id : {"mark-angles", "gloves"}) {
        ASSERT_TRUE(card(releasePlan(), id)) << id;
        EXPECT_TRUE(card(releasePlan(), id)->mustConfirm);
    }
    EXPECT_FALSE(card(releasePlan(), "flux-and-new-led"));
    EXPECT_FALSE(card(releasePlan(), "lenses-off"));
    double before = -1;
    for (const HandCard& each : releasePlan().cards) {
        EXPECT_GE(each.atS, before) << each.id;
        before = each.atS;
    }
}

TEST(Release, RefusesAFootThatSoftensBeforeItsGlueSurelyLetsGoUnlessTheLensIsGivenUp)
{
    BenchSheet sheet = release();
    EXPECT_THAT(warningsOf(sheet), testing::IsEmpty());
    EXPECT_THAT(refusalsOf(sheet), testing::IsEmpty());
    const auto words = testing::AllOf(HasSubstr("85 °C"), HasSubstr("130 °C"), HasSubstr("cut"));
    sheet.strip.lens->footMaxC = 85;
    EXPECT_THAT(refusalsOf(sheet), ElementsAre(testing::AllOf(words, HasSubstr("\"lens-foot-softens\""))));
    sheet.overrides = {"lens-foot-softens"};
    EXPECT_THAT(refusalsOf(sheet), testing::IsEmpty());
    EXPECT_THAT(warningsOf(sheet), ElementsAre(testing::AllOf(HasSubstr("Lens 4"), words)));
    sheet.overrides.clear();
    sheet.strip.lens->footMaxC = 129;
    EXPECT_EQ(refusalsOf(sheet).size(), 1u) << "the upper end is what counts";
    sheet.strip.lens->footMaxC = 130;
    EXPECT_THAT(refusalsOf(sheet), testing::IsEmpty());
}

TEST(Release, RefusesGlueThatMustBeCut)
{
    BenchSheet sheet = release();
    sheet.strip.glue->letsGo = false;
    EXPECT_THAT(refusalsOf(sheet), ElementsAre(HasSubstr("cut it cold")));
    EXPECT_FALSE(planSheet(sheet).runnable);
}

TEST(Release, RefusesGlueThatOutlastsTheJoints)
{
    BenchSheet sheet = release();
    sheet.oldAlloy.reset();
    EXPECT_THAT(refusalsOf(sheet), ElementsAre(testing::AllOf(HasSubstr("130 °C"), HasSubstr("96 °C"))));
    sheet.oldAlloy = *findById(shippedShelf().alloys, "sn42bi58"); // 138 °C
    EXPECT_THAT(refusalsOf(sheet), testing::IsEmpty());
    sheet.strip.glue = *findById(shippedShelf().glues, "cyanoacrylate-heat"); // from 130 to 180 °C
    EXPECT_THAT(refusalsOf(sheet), ElementsAre(testing::AllOf(HasSubstr("180 °C"), HasSubstr("138 °C"))));
}

TEST(Release, AsksForALensWhereNoneIsMarked)
{
    BenchSheet sheet = release();
    sheet.sites[3].lens = LensState::Off;
    const HeatPlan plan = planSheet(sheet);
    EXPECT_FALSE(plan.runnable);
    EXPECT_THAT(plan.refusals, ElementsAre(HasSubstr("No lens is marked")));
}

TEST(Release, SuggestsToReleaseANeighbourThatTheHeatWouldLoosen)
{
    BenchSheet sheet = release();
    sheet.plate = *findById(shippedShelf().plates, "bench-plate-120");
    sheet.plateStartMm = 220; // the next lens, at 315 mm, lies on it too
    sheet.sinkBlocks[0].startMm = 195;
    sheet.sinkBlocks[1].startMm = 345;
    const HeatPlan plan = planSheet(sheet);
    EXPECT_FALSE(plan.runnable);
    EXPECT_THAT(
        helpful(whatIf(sheet, Shelf{})),
        testing::Contains(testing::Field(
            &Suggestion::what,
            testing::StartsWith("Release the lens in the same heat at site 5: every limit is kept"))));
}

TEST(Release, TriesNoLeverThatTakesAwayTheLensItIsFor)
{
    const std::vector<WhatIf> levers = whatIf(release(), shippedShelf()).levers;
    EXPECT_GE(levers.size(), 5u);
    for (const WhatIf& one : levers) {
        EXPECT_THAT(one.sheet.targets(), testing::Contains(release().targets().front())) << one.what;
        EXPECT_FALSE(one.refused) << one.what;
    }
}

TEST(BakePlan, HoldsTheColdestBodyAtTheBakesTemperatureForItsWholeTime)
{
    expectLimitsKept(bakePlan());
    EXPECT_EQ(bakePlan().sheet.bake.temperatureC, 125);
    const MarginRow* time = row(bakePlan(), "body_6/bake_time");
    ASSERT_TRUE(time);
    EXPECT_GE(*time->low, 9 * 3600);
    EXPECT_LE(*time->low, 9 * 3600 + 600) << "no longer than it takes";
}

TEST(BakePlan, WaitsForABodyThatComesUpLate)
{
    BenchSheet sheet = bake("3");
    sheet.contact = {.lowWPerM2K = 60, .nominalWPerM2K = 90, .highWPerM2K = 120};
    const HeatPlan plan = planSheet(sheet);
    const PlanCurve* body = curve(plan, "body_6");
    ASSERT_TRUE(body);
    const double plateHotS =
        *firstRiseThrough({plan.timeS, plan.plateC}, 0.999 * plan.plateC[plan.plateC.size() / 2]);
    EXPECT_GT(*firstRiseThrough({plan.timeS, body->lowC}, 125), plateHotS + 120);
    EXPECT_GE(row(plan, "body_6/bake_time")->margin, 0);
}

TEST(BakePlan, CentresTheBodyInTheToleranceWhereContactLetsIt)
{
    BenchSheet sheet = bake("3");
    sheet.contact.lowWPerM2K = 1400;
    sheet.contact.highWPerM2K = 1600;
    const HeatPlan plan = planSheet(sheet);
    const MarginRow* top = row(plan, "body_6/bake_top");
    ASSERT_TRUE(top);
    EXPECT_GE(top->margin, 0) << "at most 5 K over";
    EXPECT_NEAR(*top->nominal, 127.5, 0.6);
}

TEST(BakePlan, IsSmallAndItsCurvesFitEachOther)
{
    const HeatPlan& plan = bakePlan();
    EXPECT_LT(plan.timeS.size(), 1500u);
    EXPECT_GT(plan.timeS.back(), 9 * 3600);
    EXPECT_EQ(plan.plateC.size(), plan.timeS.size());
    EXPECT_EQ(plan.duty.size(), plan.timeS.size());
    for (size_t i = 1; i < plan.timeS.size(); ++i) {
        ASSERT_GT(plan.timeS[i], plan.timeS[i - 1]);
        const double slopeCPerS = (plan.plateC[i] - plan.plateC[i - 1]) / (plan.timeS[i] - plan.timeS[i - 1]);
        EXPECT_LE(slopeCPerS, 1.0) << plan.timeS[i];
        if (plan.timeS[i] >= plan.heaterOffS) {
            EXPECT_EQ(plan.duty[i], 0);
        }
    }
    EXPECT_FALSE(plan.curves.empty());
    for (const PlanCurve& each : plan.curves)
        EXPECT_EQ(each.nominalC.size(), plan.timeS.size()) << each.station.name();
    EXPECT_EQ(toJson(readHeatPlan(toJson(plan).dump(), "bake")), toJson(plan));
}

TEST(BakePlan, CoarseCurvesAreThoseOfAFinePrediction)
{
    const HeatPlan& plan = bakePlan();
    const Scenario cold = scenariosOf(plan.sheet)[coldest];
    PredictOptions options = optionsIn(cold, plan.sheet, {});
    options.fanFromS = plan.heaterOffS;
    options.outputStepS = 600;
    options.stepS = 2;
    const Prediction fine =
        predict(plan.sheet, plateIn(cold, {plan.timeS, plan.plateC}, plan.heaterOffS), options);
    const PlanCurve* body = curve(plan, "body_6");
    ASSERT_TRUE(body);
    for (size_t i = 0; i + 1 < fine.timeS.size(); ++i) {
        const auto at = std::lower_bound(plan.timeS.begin(), plan.timeS.end(), fine.timeS[i] - 0.5);
        EXPECT_NEAR(body->lowC[static_cast<size_t>(at - plan.timeS.begin())], fine.find("body_6")->valueC[i],
                    0.1)
            << fine.timeS[i];
    }
}

TEST(BakePlan, TellsSomebodyToStayAndOffersJointEstimates)
{
    const HandCard* stay = card(bakePlan(), "stay-through-bake");
    ASSERT_TRUE(stay);
    EXPECT_THAT(stay->text, HasSubstr("9 h"));
    EXPECT_GE(stay->untilS, bakePlan().heaterOffS - 1);
    ASSERT_EQ(bakePlan().joints.size(), 1u);
    EXPECT_LT(bakePlan().joints[0].nominal.worstErrorK, 4);
}

TEST(Bake, RefusesTimesThatNobodyWatchesAndSaysWhatWouldDo)
{
    BenchSheet sheet = bake("3");
    for (SiteOnBench& site : sheet.sites)
        site.lens = LensState::On;
    const HeatPlan plan = planSheet(sheet);
    EXPECT_FALSE(plan.runnable);
    EXPECT_THAT(plan.refusals,
                ElementsAre(testing::AllOf(HasSubstr("At 40 °C"), HasSubstr("13 days"), HasSubstr("12 h"),
                                           HasSubstr("Take the lenses off at sites 4, 5, 7, 8 and bake at "
                                                     "125 °C for 9 h"))));
    ASSERT_FALSE(plan.margins.empty()) << "the bake it would have liked shows what breaks";
    EXPECT_EQ(plan.margins.front().limit.id.substr(0, 5), "glue_");
    for (const int site : {4, 5, 7, 8})
        sheet.sites[static_cast<size_t>(site - 1)].lens = LensState::Off;
    EXPECT_TRUE(planSheet(sheet).runnable) << "what it said would do";
}

TEST(Bake, KeepsTheSheetsOwnTemperatureAndRefusesItWithFigures)
{
    BenchSheet sheet = bake("3");
    sheet.bake.temperatureC = 90;
    const HeatPlan plan = planSheet(sheet);
    EXPECT_FALSE(plan.runnable);
    EXPECT_THAT(plan.refusals,
                ElementsAre(testing::AllOf(HasSubstr("At 90 °C"), HasSubstr("33 h"), HasSubstr("125 °C"))));
    sheet.strip.led.moistureLevel = "2";
    sheet.bake.overFloorLifeH = 10;
    const HeatPlan brief = planSheet(sheet); // 11 h
    expectLimitsKept(brief);
    EXPECT_NEAR(*row(brief, "body_6/bake_time")->nominal, 11 * 3600, 600);
}

TEST(Bake, SaysThatAPoorContactNeverBringsTheBodiesUp)
{
    BenchSheet sheet = bake("3");
    sheet.contact = *findById(shippedShelf().contacts, "bowed-0.5mm");
    const HeatPlan plan = planSheet(sheet); // the plate would have to be above its own limit
    EXPECT_FALSE(plan.runnable);
    EXPECT_THAT(plan.refusals, ElementsAre(HasSubstr("do not come up to it where they get least hot")));
    EXPECT_GE(row(plan, "plate/peak")->margin, 0);
    EXPECT_LT(plan.timeS.back(), 12 * 3600);
}

TEST(Bake, KeepsJointsSolid)
{
    BenchSheet sheet = bake("2");
    sheet.oldAlloy = *findById(shippedShelf().alloys, "sn42bi58");
    sheet.oldAlloy->movableAboveC = 120;
    sheet.bake.overFloorLifeH = 10;
    const HeatPlan plan = planSheet(sheet); // 11 h at 90 °C
    expectLimitsKept(plan);
    EXPECT_EQ(plan.sheet.bake.temperatureC, 90);
}

TEST(Bake, RefusesLevelsAndBodiesThatTheTableDoesNotHold)
{
    EXPECT_THAT(refusalsOf(bake("1")), ElementsAre(HasSubstr("needs no bake")));
    EXPECT_THAT(refusalsOf(bake("6")), ElementsAre(HasSubstr("label")));
    BenchSheet thick = bake("3");
    thick.strip.led.heightMm = 1.9;
    EXPECT_THAT(refusalsOf(thick), ElementsAre(HasSubstr("1.4 mm")));
    EXPECT_FALSE(planSheet(bake("1")).runnable);
}

TEST(Bake, OfEveryShippedLedIsPlannedByItsLevelOrRefusedForItsThickness)
{
    int planned = 0;
    for (const LedPackage& led : shippedShelf().leds) {
        BenchSheet sheet = bake("3");
        sheet.strip.led = led;
        sheet.strip.lens.reset();
        sheet.strip.glue.reset();
        const HeatPlan plan = planSheet(sheet);
        if (led.id == "3528") {
            EXPECT_THAT(plan.refusals, ElementsAre(HasSubstr("1.4 mm")));
            continue;
        }
        EXPECT_TRUE(plan.runnable) << led.id;
        const MarginRow* time = row(plan, "body_6/bake_time");
        ASSERT_TRUE(time) << led.id;
        EXPECT_EQ(time->limit.min, (led.moistureLevel == "2a" ? 7 : 9) * 3600) << led.id;
        EXPECT_EQ(std::ranges::any_of(plan.warnings,
                                      [](const std::string& words) {
                                          return words.find("moisture level, 3, is trade habit") !=
                                                 std::string::npos;
                                      }),
                  led.habit.of("moisture_level"))
            << led.id;
        ++planned;
    }
    EXPECT_GE(planned, 4);
}

TEST(Bake, SaysWhatItTookForGranted)
{
    BenchSheet sheet = bake("");
    EXPECT_THAT(warningsOf(sheet), ElementsAre(HasSubstr("level 5a"), HasSubstr("soaked through")));
    sheet = bake("3");
    sheet.bake.overFloorLifeH = 0;
    EXPECT_THAT(warningsOf(sheet), ElementsAre(HasSubstr("no bake is needed")));
}

// IPC/JEDEC J-STD-033, rework: bodies kept at or below 200 °C need no bake before.
TEST(DryFirst, IsWarnedOfWhereBodiesGoAboveTwoHundred)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-3-sac305.bench.json");
    EXPECT_THAT(
        planSheet(sheet).warnings,
        testing::Contains(testing::AllOf(HasSubstr("200 °C"), HasSubstr("5-7"), HasSubstr("bake them dry"))));
    sheet.strip.led.moistureLevel = "1";
    EXPECT_THAT(planSheet(sheet).warnings, testing::Not(testing::Contains(HasSubstr("bake them dry"))));
    EXPECT_THAT(planSheet(shippedSheet("marram-lane-bar-7.bench.json")).warnings,
                testing::Not(testing::Contains(HasSubstr("bake them dry"))))
        << "tin-bismuth stays below";
}

TEST(LivePlan, WatchesALensWhoseCapIsHabitWhereThePlanKeepsIt)
{
    const auto watched = [](const BenchSheet& sheet) {
        std::set<std::string> stations;
        for (const PartModel& part : planSheet(sheet).parts)
            stations.insert(part.station.name());
        return stations;
    };
    BenchSheet sheet = release();
    const auto sourced = watched(sheet);
    EXPECT_TRUE(sourced.contains("glue_3") && sourced.contains("glue_5"));
    sheet.strip.lens->habit = {.whole = true};
    sheet.strip.glue->habit = {.whole = true};
    EXPECT_TRUE(watched(sheet).contains("glue_3"));
    sheet.strip.glue->holdC = 45; // Below what the plan can keep: watched, the heat would end at once.
    EXPECT_FALSE(watched(sheet).contains("glue_3"));
}

TEST(HandCards, OfTwoSinkBlocksAreConfirmedOneByOne)
{
    BenchSheet sheet = release();
    const SinkBlock block = shippedShelf().sinkBlocks.at(0);
    sheet.sinkBlocks = {{block, 180}, {block, 290}};
    const HeatPlan plan = planSheet(sheet);
    std::set<std::string> ids;
    for (const HandCard& each : plan.cards)
        EXPECT_TRUE(ids.insert(each.id).second) << each.id;
    EXPECT_THAT(ids, testing::IsSupersetOf({"sink-block-1", "sink-block-2"}));
}

} // namespace
} // namespace stripwright
