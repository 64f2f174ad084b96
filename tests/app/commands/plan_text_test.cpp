#include "commands/plan_text.h"

#include "demo_sheet.h"

#include "models/plan_verdict.h"

#include <gmock/gmock.h>
#include <sstream>

using namespace stripwright;
using testing::HasSubstr;
using testing::Not;

namespace {

BenchSheet demo()
{
    return test::shippedSheet("marram-lane-bar-7.bench.json");
}

/// A heat that keeps its limits; these LEDs melt once more than they may.
HeatPlan heatOf(const BenchSheet& sheet, const std::vector<int>& past)
{
    HeatPlan plan;
    plan.sheet = sheet;
    plan.runnable = true;
    for (int site = 1; site <= 7; ++site)
        plan.passes.push_back({site, 3, 1, std::ranges::find(past, site) == past.end() ? 3 : 4, 3});
    plan.passes.push_back({8, 4, 0, 4, 3}); // past it already, and does not melt
    return plan;
}

std::string textOf(const BenchSheet& sheet, const JobPlan& job)
{
    std::ostringstream out;
    printJob(out, sheet, job, {}, false);
    std::string text = out.str();
    for (size_t at = 0; (at = text.find("\n  ", at)) != std::string::npos;) // as one line
        text.replace(at, text.find_first_not_of(" \n", at) - at, " ");
    return text;
}

} // namespace

TEST(Headline, NamesTheLedsThatGoPastTheirPasses)
{
    EXPECT_THAT(verdictOf(JobPlan{demo(), {heatOf(demo(), {3, 5})}}).toStdString(),
                testing::StartsWith("Runnable, but LEDs 3, 5 go past the passes allowed: every limit"));
    EXPECT_THAT(verdictOf(JobPlan{demo(), {heatOf(demo(), {3})}}).toStdString(),
                testing::StartsWith("Runnable, but LED 3 goes past the passes allowed: "));
    EXPECT_THAT(verdictOf(JobPlan{demo(), {heatOf(demo(), {5}), heatOf(demo(), {3, 5})}}).toStdString(),
                testing::StartsWith("Runnable in 2 heats, but LEDs 3, 5 go past the passes allowed: "));
    EXPECT_THAT(verdictOf(JobPlan{demo(), {heatOf(demo(), {})}}).toStdString(),
                testing::StartsWith("Runnable: every limit"));
    HeatPlan refused = heatOf(demo(), {3});
    refused.runnable = false;
    refused.refusals = {"It burns: put it out."};
    EXPECT_EQ(verdictOf(JobPlan{demo(), {refused}}).toStdString(),
              "Not runnable: It burns: put it out. LED 3 would go past the passes allowed.");
}

TEST(PlanText, SaysWhereThePlateWasMovedToAndWhy)
{
    BenchSheet sheet = demo();
    const HeatPlan stays = heatOf(sheet, {});
    EXPECT_THAT(textOf(sheet, {sheet, {stays}}), Not(HasSubstr("moved from")));
    sheet.plateStartMm = -20;
    EXPECT_THAT(
        textOf(sheet, {sheet, {stays}}),
        HasSubstr(
            "moved from the sheet's −20 mm to 162.5 mm: from the sheet's place the plate does not reach "
            "site 6."));
    sheet.plateStartMm = 160;
    EXPECT_THAT(textOf(sheet, {sheet, {stays}}),
                HasSubstr("moved from the sheet's 160 mm to 162.5 mm: not all of the job's sites"));
}

TEST(PlanText, SaysThatASwapOnTheSolderLeftUsesNoPaste)
{
    BenchSheet sheet = demo();
    const std::string unused = "paste (" + sheet.paste.name + ") is not used";
    for (const SwapWay way : {SwapWay::SolderLeft, SwapWay::WarmedLed}) {
        sheet.way = way;
        EXPECT_THAT(textOf(sheet, {sheet, {heatOf(sheet, {})}}), HasSubstr(unused));
    }
    sheet.way = SwapWay::TinnedLed;
    EXPECT_THAT(textOf(sheet, {sheet, {heatOf(sheet, {})}}), Not(HasSubstr(unused)));
    sheet.heat = HeatKind::Fit;
    EXPECT_THAT(textOf(sheet, {sheet, {heatOf(sheet, {})}}), Not(HasSubstr(unused)));
}

TEST(PlanText, OfARefusedSheetSaysWhatWouldHelp)
{
    HeatPlan refused = heatOf(demo(), {});
    refused.runnable = false;
    refused.refusals = {"It burns: put it out."};
    EXPECT_THAT(textOf(demo(), {demo(), {refused}}),
                HasSubstr("What would help:\n- What the refusal says, changed in the sheet.\n"));
    refused.suggestions = {{"Water on it: it goes out.", {}}};
    EXPECT_THAT(textOf(demo(), {demo(), {refused}}), HasSubstr("- Water on it: it goes out."));
    EXPECT_THAT(textOf(demo(), {demo(), {heatOf(demo(), {})}}), Not(HasSubstr("What would help")));
}

TEST(PlanText, ShowsTheShareByWhichLimitsAreOrdered)
{
    HeatPlan plan = heatOf(demo(), {});
    plan.margins = {
        {.limit = {.what = "soak time", .metric = Metric::TimeAbove, .max = 210},
         .nominal = 200,
         .margin = 10,
         .normalisedMargin = 0.48},
        {.limit = {.what = "lens peak", .max = 80}, .nominal = 75, .margin = 5, .normalisedMargin = 0.91}};
    const std::string text = textOf(demo(), {demo(), {plan}});
    EXPECT_THAT(text, HasSubstr("share of its tolerance"));
    EXPECT_THAT(text, testing::ContainsRegex("\\+10 s +48 % +soak time"));
    EXPECT_THAT(text, testing::ContainsRegex("\\+5.0 K +91 % +lens peak"));
}

TEST(Headline, NamesTheHeatThatStopsAJobAndNotTheOneThatWaitsForIt)
{
    HeatPlan remove = heatOf(demo(), {}), fit = heatOf(demo(), {});
    remove.sheet.heat = HeatKind::Remove;
    remove.ofHeats = fit.ofHeats = 2;
    remove.refusals = {"Heat 2 cannot be run."};
    fit.sheet.heat = HeatKind::Fit;
    fit.heat = 2;
    fit.margins = {{.limit = {.what = "lens peak"}, .margin = -3, .normalisedMargin = -1}};
    remove.runnable = fit.runnable = false;
    EXPECT_THAT(verdictOf(JobPlan{demo(), {remove, fit}}).toStdString(),
                testing::StartsWith("2 heats. Heat 2: Not runnable: one limit is broken: lens peak"));
    EXPECT_THAT(textOf(demo(), {demo(), {remove, fit}}), Not(HasSubstr("What the refusal says")));
}

TEST(CostOfRanges, SetsTheTightestLimitAndTheHeatersTimeBesideThoseOfAKnownBench)
{
    const auto jobOf = [](double margin, double heaterOffS) {
        HeatPlan plan = heatOf(demo(), {});
        plan.heaterOffS = heaterOffS;
        plan.margins = {{.limit = {.what = "a habit", .habit = true}, .normalisedMargin = -2},
                        {.limit = {.what = "time above liquidus", .metric = Metric::TimeAbove},
                         .margin = margin,
                         .normalisedMargin = margin / 30},
                        {.limit = {.what = "lens peak"}, .margin = 50, .normalisedMargin = 5}};
        return JobPlan{demo(), {plan}};
    };
    const std::string words = costOfRanges(jobOf(4, 75), jobOf(21, 60));
    EXPECT_THAT(words,
                HasSubstr("would be time above liquidus, +21 s, instead of time above liquidus, +4 s"));
    EXPECT_THAT(words, HasSubstr("on for 1:00, instead of 1:15"));
}

TEST(CostOfRanges, SaysOnceWhatIsTheSame)
{
    HeatPlan plan = heatOf(demo(), {});
    plan.heaterOffS = 121;
    const std::string words = costOfRanges({demo(), {plan}}, {demo(), {plan}});
    EXPECT_THAT(words, testing::EndsWith("on for 2:01, as now."));
}
