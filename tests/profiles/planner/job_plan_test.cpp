#include "demo_sheet.h"

#include "planner/hand_cards.h"
#include "planner/heat_kinds.h"
#include "planner/job_plan.h"
#include "planner/plan_sheet.h"
#include "rules/hands.h"

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>
#include <numeric>
#include <set>

namespace stripwright {
namespace {

using test::shippedSheet;
using test::shippedShelf;
using testing::ElementsAre;

/// Eleven sites 15 mm apart over a plate that reaches them all; these are dead, and between them LEDs stay.
const std::vector<int> dead = {2, 4, 5, 7, 8, 10};

BenchSheet sixDead(Hands::Pace pace)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-3-sac305.bench.json");
    sheet.strip = *findById(shippedShelf().strips, "growbar-300-10");
    sheet.strip.led = *findById(shippedShelf().leds, "2835");
    sheet.strip.siteXMm.resize(11);
    sheet.strip.lengthMm = 165;
    sheet.plate = *findById(shippedShelf().plates, "bench-plate-200");
    sheet.plateStartMm = -17.5;
    sheet.air = stillAir(sheet.strip.widthMm, 23);
    sheet.sites.clear();
    for (int site = 1; site <= 11; ++site)
        sheet.sites.push_back({.site = site});
    for (const int site : dead)
        sheet.sites[static_cast<size_t>(site - 1)].state = SiteState::Replace;
    sheet.hands = handsOf(pace);
    return sheet;
}

const JobPlan& careful()
{
    static const JobPlan job = planJob(sixDead(Hands::Pace::Careful));
    return job;
}

/// Sites in which a heat leaves a good LED, by the passes before it.
std::map<int, int> passesBefore(const HeatPlan& plan)
{
    std::map<int, int> before;
    for (const SitePasses& one : plan.passes)
        before[one.site] = one.before;
    return before;
}

/// From when the last of a heat's target joints is liquid in the coldest scenario to when the first sets
/// again.
double sureLiquidS(const HeatPlan& plan)
{
    double fromS = 0, toS = plan.timeS.back();
    for (const int site : plan.sheet.targets()) {
        const PlanCurve* joint = curveOf(plan, jointOf(site));
        if (!joint)
            return 0;
        const Curve low{plan.timeS, joint->lowC};
        const double meltsC = plan.sheet.oldAlloy->liquidusC;
        fromS = std::max(fromS, firstRiseThrough(low, meltsC).value_or(plan.timeS.back()));
        toS = std::min(toS, lastFallThrough(low, meltsC).value_or(toS));
    }
    return toS - fromS;
}

TEST(JobPlan, GivesEveryHeatNoMoreSitesThanItsHandsCanServeWhileAllAreLiquid)
{
    ASSERT_GE(careful().heats.size(), 2u);
    EXPECT_TRUE(careful().runnable());
    for (const HeatPlan& plan : careful().heats) {
        EXPECT_TRUE(plan.runnable);
        const size_t sites = plan.sheet.targets().size();
        ASSERT_GE(sites, 1u);
        EXPECT_GE(sureLiquidS(plan), 5 + 25 * static_cast<double>(sites) + 10 - 1e-6);
    }
}

TEST(JobPlan, DoesEverySiteOnceAndLetsTheRestWait)
{
    std::set<int> done;
    int number = 0;
    for (const HeatPlan& plan : careful().heats) {
        EXPECT_EQ(plan.heat, ++number);
        EXPECT_EQ(plan.ofHeats, static_cast<int>(careful().heats.size()));
        for (const int site : plan.sheet.targets())
            EXPECT_TRUE(done.insert(site).second) << site;
        for (const int site : dead) {
            const SiteOnBench& here = plan.sheet.sites[static_cast<size_t>(site - 1)];
            const bool target = plan.sheet.isTarget(site);
            EXPECT_EQ(here.state, target             ? SiteState::Replace
                                  : done.count(site) ? SiteState::Good
                                                     : SiteState::Later)
                << site;
            EXPECT_EQ(here.lens, LensState::Off) << site;
            const std::string card = "swap-led-" + std::to_string(site);
            EXPECT_EQ(std::count_if(plan.cards.begin(), plan.cards.end(),
                                    [&](const HandCard& one) { return one.id == card; }),
                      target ? 1 : 0)
                << site;
        }
    }
    EXPECT_EQ(std::vector<int>(done.begin(), done.end()), dead);
}

TEST(JobPlan, BeginsEachHeatWithThePassesThatTheOnesBeforeItLeft)
{
    std::map<int, int> left;
    for (const int site : {1, 3, 6, 9, 11})
        left[site] = 1; // the factory's
    int counted = 0, refitted = 0;
    std::set<int> done;
    for (const HeatPlan& plan : careful().heats) {
        for (const SiteOnBench& here : plan.sheet.sites) {
            EXPECT_EQ(here.refitted, done.contains(here.site)) << here.site;
            refitted += here.refitted;
        }
        for (const int site : plan.sheet.targets())
            done.insert(site);
        for (const SitePasses& one : plan.passes) {
            const bool isNew = plan.sheet.isTarget(one.site);
            EXPECT_EQ(one.before, isNew ? 0 : left.at(one.site)) << one.site;
            EXPECT_EQ(one.after, one.before + one.inThisHeat) << one.site;
            left[one.site] = one.after;
            counted += one.inThisHeat;
        }
    }
    EXPECT_GE(counted, 11);
    EXPECT_GE(refitted, 2);
    // Site 6 lies between targets of one heat and next to those of another: it melts in both.
    EXPECT_EQ(left.at(6), 1 + static_cast<int>(careful().heats.size()));
    EXPECT_THAT(careful().heats.back().warnings,
                testing::Contains(testing::HasSubstr("been through 2 reflow passes")));
}

// A plate that cools faster leaves the hands their time only for so long, and six sites take longer than an
// LED body may be above 217 °C.
TEST(JobPlan, SplitsWhereLedsWouldBeHotForTooLongAndPartsCanAllBeDone)
{
    BenchSheet sheet = sixDead(Hands::Pace::Careful);
    sheet.cooling.fan = true;
    const PredictedHeat atOnce = searchShape(taskOf(sheet), {.quick = true});
    ASSERT_FALSE(worthOf(atOnce).done);
    EXPECT_TRUE(std::any_of(atOnce.margins.begin(), atOnce.margins.end(), [](const MarginRow& row) {
        return row.limit.id == "body_6/above_217" && row.margin < 0;
    }));
    const JobPlan job = planJob(sheet);
    EXPECT_GE(job.heats.size(), 2u);
    EXPECT_TRUE(job.runnable());
}

TEST(JobPlan, HasEverySiteOnceWhereNoneCanBeDone)
{
    BenchSheet sheet = sixDead(Hands::Pace::Usual);
    sheet.strip.led.nearMaxS = 1;
    sheet.strip.led.bodyMaxC = 222; // no joint melts below it for as long as one site takes
    const JobPlan job = planJob(sheet);
    EXPECT_FALSE(job.runnable());
    std::vector<int> sites;
    for (const HeatPlan& plan : job.heats)
        for (const int site : plan.sheet.targets())
            sites.push_back(site);
    EXPECT_THAT(sites, testing::ElementsAreArray(dead));
}

TEST(JobPlan, NeedsOneHeatWhereHandsAreQuick)
{
    const JobPlan job = planJob(sixDead(Hands::Pace::Quick));
    ASSERT_EQ(job.heats.size(), 1u);
    EXPECT_TRUE(job.runnable());
    EXPECT_EQ(job.heats[0].sheet.targets(), dead);
    EXPECT_GE(sureLiquidS(job.heats[0]), 5 + 8 * 6 + 10 - 1e-6);
}

TEST(JobPlan, OfTwoHeatsRemovesFirstAndFitsFromColdOnWhatThatLeaves)
{
    BenchSheet sheet = sixDead(Hands::Pace::Usual);
    sheet.way = SwapWay::TwoHeats;
    const JobPlan job = planJob(sheet);
    ASSERT_GE(job.heats.size(), 2u);
    std::set<int> removed, fitted;
    for (const HeatPlan& plan : job.heats) {
        ASSERT_TRUE(plan.sheet.heat == HeatKind::Remove || plan.sheet.heat == HeatKind::Fit);
        std::set<int>& now = plan.sheet.heat == HeatKind::Remove ? removed : fitted;
        if (plan.sheet.heat == HeatKind::Remove) {
            EXPECT_TRUE(fitted.empty());
        }
        for (const int site : plan.sheet.targets())
            EXPECT_TRUE(now.insert(site).second) << site;
    }
    EXPECT_EQ(std::vector<int>(removed.begin(), removed.end()), dead);
    EXPECT_EQ(fitted, removed);
    const HeatPlan &first = job.heats.front(), &last = job.heats.back();
    EXPECT_EQ(passesBefore(first).at(6), 1);
    EXPECT_EQ(passesBefore(last).at(6), 2);
    EXPECT_EQ(passesBefore(last).at(5), 0);
    EXPECT_FALSE(passesBefore(first).count(5)); // its LED is thrown away
    for (const HeatPlan& plan : job.heats)
        EXPECT_EQ(readHeatPlan(toJson(plan).dump(), "heat").sheet, plan.sheet);
}

TEST(JobPlan, ARemoveWhoseFitCannotBeRunSaysWhyThatCannot)
{
    const BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    std::vector<HeatAnswer> answers(2, {sheet, {}});
    answers[0].sheet.heat = HeatKind::Remove;
    answers[1].sheet.heat = HeatKind::Fit;
    answers[1].sheet.strip.led.bodyMaxC = 150; // below where the joint has to be
    for (HeatAnswer& heat : answers)
        heat.answer = searchShape(taskOf(heat.sheet), {.quick = true});
    JobPlan job = jobPlanOf(sheet, answers);
    ASSERT_EQ(job.heats[0].refusals.size(), 1u);
    EXPECT_THAT(job.heats[0].refusals[0],
                testing::AllOf(testing::StartsWith("Heat 2 of this job"),
                               testing::HasSubstr(": " + job.heats[1].margins.front().limit.what + " -")));
    EXPECT_TRUE(job.waitsForFit(job.heats[0]));
    EXPECT_FALSE(job.waitsForFit(job.heats[1]));
    EXPECT_FALSE(job.refused()); // a limit that a lever may mend, and no rule
    job.heats[1].refusals = {"It burns."};
    EXPECT_TRUE(job.refused());
}

TEST(JobPlan, HeatsReadBackFromTheirDocuments)
{
    for (const HeatPlan& plan : careful().heats) {
        const HeatPlan again = readHeatPlan(toJson(plan).dump(), "heat");
        EXPECT_EQ(toJson(again), toJson(plan));
        EXPECT_EQ(again.sheet, plan.sheet);
        EXPECT_EQ(again.hands, plan.hands);
        EXPECT_EQ(again.newLeds.size(), plan.sheet.targets().size());
    }
}

BenchSheet longBar()
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-3-sac305.bench.json");
    sheet.strip = *findById(shippedShelf().strips, "growbar-600-15");
    sheet.air = stillAir(sheet.strip.widthMm, 23);
    sheet.plateStartMm = 40;
    sheet.sites.clear();
    for (int site = 1; site <= 10; ++site)
        sheet.sites.push_back({.site = site});
    sheet.sites[1].state = sheet.sites[8].state = SiteState::Replace;
    for (const size_t neighbour : {0u, 2u, 3u, 7u, 9u})
        sheet.sites[neighbour].lens = LensState::Off;
    return sheet;
}

// A bar of 600 mm, sites 2 and 9 dead: 420 mm apart, on a plate of 100 mm.
TEST(JobPlan, OfASiteBeyondThePlateLeavesTheOthersAsTheyAre)
{
    const BenchSheet sheet = longBar();
    EXPECT_THAT(refusalsOf(sheet), ElementsAre(testing::HasSubstr("Not on the plate: site 9")));
    const JobPlan both = planJob(sheet);
    ASSERT_EQ(both.heats.size(), 2u);
    EXPECT_THAT(both.heats[0].sheet.targets(), ElementsAre(2));
    EXPECT_THAT(both.heats[1].sheet.targets(), ElementsAre(9));
    EXPECT_THAT(both.heats[0].refusals, testing::IsEmpty());
    for (const HeatPlan& heat : both.heats)
        EXPECT_THAT(heat.warnings, testing::Each(testing::Not(testing::HasSubstr("Put the plate's start"))));

    BenchSheet alone = sheet;
    alone.sites[8].state = SiteState::Good;
    alone.plateStartMm = both.heats[0].sheet.plateStartMm;
    const JobPlan one = planJob(alone);
    ASSERT_EQ(one.heats.size(), 1u);
    EXPECT_EQ(one.heats[0].sheet.plateStartMm, both.heats[0].sheet.plateStartMm);
    EXPECT_EQ(one.heats[0].runnable, both.heats[0].runnable);
    EXPECT_NEAR(worstOfLimits(one.heats[0].margins), worstOfLimits(both.heats[0].margins), 0.02);
}

TEST(JobPlan, LaysASpareAnewWhereThePlateComesToLieUnderIt)
{
    BenchSheet sheet = longBar();
    sheet.way = SwapWay::WarmedLed;
    for (const double placeMm :
         {300.0, 505.0}) { // between both places of the plate, and where site 9 is done
        sheet.spareMm = placeMm;
        const std::vector<HeatAnswer> heats = answerJob(sheet, {.quick = true});
        ASSERT_EQ(heats.size(), 2u);
        EXPECT_EQ(heats[0].sheet.spareMm, placeMm);
        EXPECT_EQ(heats[1].sheet.spareMm.has_value(), placeMm == 300.0);
        for (const HeatAnswer& heat : heats) {
            EXPECT_EQ(readBenchSheet(toJson(heat.sheet).dump(), "heat", Shelf{}), heat.sheet);
            const double spareMm = sparesOf(heat.sheet).at(0).xMm;
            EXPECT_TRUE(spareMm <= heat.sheet.plateStartMm - spareClearMm ||
                        spareMm >= heat.sheet.plateEndMm() + spareClearMm);
        }
    }
}

TEST(JobPlan, OfASwapWithoutRoomToWarmItsLedIsRefusedWithACurveToShow)
{
    BenchSheet sheet = sixDead(Hands::Pace::Quick);
    sheet.way = SwapWay::WarmedLed; // the plate is longer than the strip
    const JobPlan job = planJob(sheet);
    EXPECT_FALSE(job.runnable());
    EXPECT_THAT(job.heats.front().refusals,
                testing::Contains(testing::HasSubstr("no room beyond the plate for all new LEDs")));
    EXPECT_FALSE(job.heats.front().cards.empty());
}

// Their even part is too short for both sites by the poorest contact, and from 110 mm one heat does both.
TEST(JobPlan, NeedsNoMoreHeatsWhereThePlateLiesElsewhereInTheSheet)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    for (SiteOnBench& here : sheet.sites) {
        here.state = here.site == 4 || here.site == 5 ? SiteState::Replace : SiteState::Good;
        here.lens = here.site >= 2 && here.site <= 7 ? LensState::Off : LensState::On;
    }
    for (const double plateStartMm : {110.0, 162.5, 300.0}) {
        sheet.plateStartMm = plateStartMm;
        const JobPlan job = planJob(sheet);
        EXPECT_EQ(job.heats.size(), 1u) << plateStartMm;
        EXPECT_TRUE(job.heats[0].runnable) << plateStartMm;
        EXPECT_THAT(job.heats[0].sheet.targets(), ElementsAre(4, 5)) << plateStartMm;
    }
}

// The strip has room beyond the plate for one LED to warm, not for two.
TEST(JobPlan, PutsNoSitesTogetherWhereARuleForbidsIt)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    sheet.way = SwapWay::WarmedLed;
    sheet.strip.lengthMm = 116;
    sheet.strip.siteXMm = {42, 77};
    sheet.strip.lens.reset();
    sheet.air = stillAir(sheet.strip.widthMm, 23);
    sheet.sites = {{.site = 1, .state = SiteState::Replace}, {.site = 2, .state = SiteState::Replace}};
    sheet.plateStartMm = 70;
    const JobPlan job = planJob(sheet);
    ASSERT_EQ(job.heats.size(), 2u);
    for (const HeatPlan& plan : job.heats)
        EXPECT_THAT(plan.refusals, testing::IsEmpty());
    sheet.way = SwapWay::SolderLeft;
    EXPECT_EQ(planJob(sheet).heats.size(), 1u);
}

TEST(JobPlan, CountsHeatsForHandsOnlyWhereHandsDecide)
{
    const BenchSheet sheet = sixDead(Hands::Pace::Careful);
    EXPECT_EQ(heatsForHands(sheet, HeatKind::Swap), careful().heats.size());
    EXPECT_EQ(heatsForHands(sixDead(Hands::Pace::Quick), HeatKind::Swap), 1u);
    BenchSheet cold = sheet, beside = sheet;
    cold.plate.maxC = 150;
    EXPECT_EQ(heatsForHands(cold, HeatKind::Swap), dead.size()) << "nothing melts";
    beside.plateStartMm = 60;
    EXPECT_EQ(heatsForHands(beside, HeatKind::Swap), dead.size());
}

TEST(JobPlan, KeepsThePlaceOfASheetThatReachesItsSites)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    sheet.plateStartMm = 158;
    const JobPlan job = planJob(sheet);
    ASSERT_EQ(job.heats.size(), 1u);
    EXPECT_EQ(job.heats[0].sheet.plateStartMm, 158);
    EXPECT_EQ(job.heats[0].ofHeats, 1);
}

TEST(JobPlan, IsOnePlanWithoutCurvesWhereNothingIsMarked)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    for (SiteOnBench& site : sheet.sites)
        site.state = SiteState::Good;
    EXPECT_FALSE(hasHeatsToAnswer(sheet));
    const JobPlan job = planJob(sheet);
    ASSERT_EQ(job.heats.size(), 1u);
    EXPECT_FALSE(job.runnable());
    EXPECT_TRUE(job.heats[0].curves.empty());
}

TEST(JobPlan, HasPlansThatAControllerReads)
{
    BenchSheet apart = shippedSheet("marram-lane-bar-7.bench.json"), fit = apart, remove = apart;
    apart.way = SwapWay::TwoHeats;
    fit.heat = HeatKind::Fit;
    remove.heat = HeatKind::Remove;
    int plans = 0;
    for (const BenchSheet& sheet :
         {apart, fit, remove, shippedSheet("marram-lane-bar-3-sac305.bench.json"),
          shippedSheet("marram-lane-bar-5-release.bench.json"), sixDead(Hands::Pace::Quick)})
        for (const HeatPlan& plan : planJob(sheet).heats) {
            const std::string text = toJson(plan).dump();
            EXPECT_NO_THROW(readHeatPlan(text, "plan")) << sheet.title << ", heat " << plan.heat;
            ++plans;
        }
    EXPECT_GE(plans, 7);
}

} // namespace
} // namespace stripwright
