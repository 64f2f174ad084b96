#include "models/run_history.h"

#include "models/simulated_hands.h"

#include "demo_sheet.h"
#include "planner/plan_sheet.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <QSignalSpy>
#include <QTest>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace stripwright {

static JobPlan jobOf(const std::vector<HeatKind>& kinds)
{
    JobPlan job;
    job.sheet.title = "Bar 9";
    for (size_t i = 0; i < kinds.size(); ++i) {
        HeatPlan plan{.heat = int(i) + 1, .ofHeats = int(kinds.size())};
        plan.sheet.title = job.sheet.title;
        plan.sheet.heat = kinds[i];
        plan.sheet.sites = {{.site = 1, .state = SiteState::Replace}};
        job.heats.push_back(plan);
    }
    return job;
}

static const JobPlan threeSwaps = jobOf({HeatKind::Swap, HeatKind::Swap, HeatKind::Swap});
static const JobPlan removeThenFit = jobOf({HeatKind::Remove, HeatKind::Fit});

static CompletedRun runOf(const JobPlan& job, size_t heat, const char* utc)
{
    return {heatOfJob(job.heats[heat]), utc};
}

TEST(HeatsDone, AreThoseThatWereRunToTheirEnd)
{
    const HeatsDone done =
        heatsDone(threeSwaps,
                  {runOf(threeSwaps, 1, "2026-03-01T11:00:00Z"), runOf(threeSwaps, 0, "2026-03-01T10:00:00Z"),
                   runOf(removeThenFit, 1, "2026-03-01T12:00:00Z")}); // of another job
    EXPECT_EQ(done, (HeatsDone{"2026-03-01T10:00:00Z", "2026-03-01T11:00:00Z", ""}));
}

TEST(HeatsDone, AHeatRunOnceMoreBeginsTheJobAnewFromThere)
{
    std::vector<CompletedRun> runs{runOf(threeSwaps, 0, "2026-03-01T10:00:00Z"),
                                   runOf(threeSwaps, 1, "2026-03-01T11:00:00Z"),
                                   runOf(threeSwaps, 2, "2026-03-01T12:00:00Z")};
    runs.push_back(runOf(threeSwaps, 1, "2026-03-01T13:00:00Z"));
    EXPECT_EQ(heatsDone(threeSwaps, runs), (HeatsDone{"2026-03-01T10:00:00Z", "2026-03-01T13:00:00Z", ""}));
    runs.push_back(runOf(threeSwaps, 0, "2026-03-02T10:00:00Z"));
    EXPECT_EQ(heatsDone(threeSwaps, runs), (HeatsDone{"2026-03-02T10:00:00Z", "", ""}));
}

TEST(OutOfOrder, AsksWhereAnEarlierHeatIsNotDoneOrThisOneIs)
{
    EXPECT_TRUE(outOfOrder(threeSwaps, 0, {"", "", ""}).isEmpty());
    const QString second = outOfOrder(threeSwaps, 1, {"", "", ""});
    EXPECT_TRUE(second.startsWith("Heat 1 (site 1) has not been run")) << second.toStdString();
    EXPECT_TRUE(outOfOrder(threeSwaps, 1, {"2026-03-01T10:00:00Z", "", ""}).isEmpty());
    const QString again = outOfOrder(threeSwaps, 0, {"2026-03-01T10:00:00Z", "", ""});
    EXPECT_TRUE(again.contains("was run to its end already") && again.contains("2026"))
        << again.toStdString();
    EXPECT_TRUE(outOfOrder(jobOf({HeatKind::Swap}), 0, {"2026-03-01T10:00:00Z"}).isEmpty());
}

TEST(OutOfOrder, AFitBeforeItsRemoveSaysThatThePadsMustBeBare)
{
    const QString why = outOfOrder(removeThenFit, 1, {"", ""});
    EXPECT_TRUE(why.contains("takes the old LEDs off") && why.contains("bare")) << why.toStdString();
}

TEST(OutOfOrder, OfAHeatThatComesAloneIsToldByTheRunsOfItsJob)
{
    const HeatPlan& third = threeSwaps.heats[2];
    const QString both = outOfOrder(third, {});
    EXPECT_TRUE(both.startsWith("Heats 1, 2 of 3 have not been run")) << both.toStdString();
    CompletedRun first = runOf(threeSwaps, 0, "2026-03-01T10:00:00Z");
    first.heat.targets = {4}; // as another heat of a job does other sites
    const QString one = outOfOrder(third, {first});
    EXPECT_TRUE(one.startsWith("Heat 2 of 3 has not been run")) << one.toStdString();
    const CompletedRun second = runOf(threeSwaps, 1, "2026-03-01T11:00:00Z");
    EXPECT_TRUE(outOfOrder(third, {second, first}).isEmpty());
    const QString again = outOfOrder(third, {first, second, runOf(threeSwaps, 2, "2026-03-01T12:00:00Z")});
    EXPECT_TRUE(again.contains("was run to its end already")) << again.toStdString();
    EXPECT_TRUE(outOfOrder(threeSwaps.heats[0], {}).isEmpty());
    EXPECT_TRUE(outOfOrder(jobOf({HeatKind::Swap}).heats[0], {}).isEmpty());
    const QString fit = outOfOrder(removeThenFit.heats[1], {first}); // of another job
    EXPECT_TRUE(fit.startsWith("Heat 1 of 2") && fit.contains("bare")) << fit.toStdString();
}

TEST(OutOfOrder, RunsOfAnotherJobUnderTheSameTitleDoNotCount)
{
    const HeatPlan& fit = removeThenFit.heats[1];
    CompletedRun removed = runOf(removeThenFit, 0, "2026-03-01T10:00:00Z");
    EXPECT_TRUE(outOfOrder(fit, {removed}).isEmpty());
    removed.heat.targets = {7};
    const QString soldered = outOfOrder(fit, {removed});
    EXPECT_TRUE(soldered.contains("taken the old LEDs off at site 1")) << soldered.toStdString();

    CompletedRun earlier = runOf(threeSwaps, 1, "2026-03-01T11:00:00Z");
    earlier.heat.targets = {9};
    const QString lacks =
        outOfOrder(threeSwaps.heats[1], {runOf(threeSwaps, 0, "2026-03-01T10:00:00Z"), earlier});
    EXPECT_TRUE(lacks.startsWith("Heat 1 of 3 has not been run")) << lacks.toStdString();
}

TEST(CompletedRuns, OfAPlateWithoutAStripAreRehearsals)
{
    const ScratchFolder folder;
    const std::filesystem::path runs = folder / "runs.db";
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    RunWriter writer(runs);
    writer.begin(toJson(plan).dump(), "{}", "2026-11-29T10:00:00Z");
    writer.add(Event{.seq = 1, .kind = "note", .severity = "info", .text = simulatedHandsNote});
    writer.end(Outcome::Completed, "", "2026-11-29T10:01:00Z");
    EXPECT_EQ(completedRuns(runs, plan.sheet.title, true).size(), 1u);
    EXPECT_TRUE(completedRuns(runs, plan.sheet.title, false).empty());
}

TEST(HeatOfJobText, NamesTheHeatAndItsSites)
{
    EXPECT_EQ(heatOfJobText(removeThenFit.heats[1]), "heat 2 of 2: fit at site 1");
    EXPECT_EQ(heatOfJobText(jobOf({HeatKind::Swap}).heats[0]), "swap at site 1");
}

TEST(RunHistory, TakesHandsAndHeatsFromTheLogOnce)
{
    const ScratchFolder folder;
    const auto file = folder / "runs.db";
    HeatPlan first = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    first.ofHeats = 2;
    HeatPlan second = first;
    second.heat = 2;
    const JobPlan job{first.sheet, {first, second}};
    {
        RunWriter log(file);
        const auto write = [&](const HeatPlan& plan, Outcome outcome, double siteS, bool simulated = false) {
            log.begin(toJson(plan).dump(), "{}", "2026-03-01T10:00:00Z");
            if (simulated)
                log.add(Event{100, 0, "note", "info", simulatedHandsNote});
            long seq = 0;
            for (const double timeS : {100.0, 100 + siteS, 100 + 2 * siteS})
                log.add(Event{++seq, timeS, "card", "info",
                              seq == 1 ? "done: see-liquid" : "done: swap-led-" + std::to_string(seq)});
            log.end(outcome, "over", "2026-03-01T10:20:00Z");
        };
        write(first, Outcome::Completed, 10);
        write(second, Outcome::StoppedByOperator, 12);
        write(second, Outcome::StoppedByOperator, 3, true); // of which nothing is learnt
    }
    RunHistory history(file);
    QSignalSpy changed(&history, &RunHistory::changed);
    history.read();
    ASSERT_TRUE(changed.wait(5000));
    EXPECT_EQ(history.doneOf(job), (HeatsDone{"2026-03-01T10:00:00Z", ""}));
    EXPECT_EQ(history.hands().runs, 2u);
    EXPECT_EQ(history.hands().siteS.size(), 4u);
    const auto pace = paceOf(history.hands());
    ASSERT_TRUE(pace);
    EXPECT_EQ(pace->siteS, 12);

    for (int told = 0; told < 2; ++told) {
        history.take("20260301112345-4", second, true, {});
        EXPECT_EQ(history.doneOf(job), (HeatsDone{"2026-03-01T10:00:00Z", "2026-03-01T11:23:45Z"}))
            << "not when it ended";
    }
    history.read();
    EXPECT_FALSE(changed.wait(300)) << "nothing is new";
    EXPECT_EQ(history.hands().siteS.size(), 4u) << "no run counts twice";
}

TEST(RunHistory, AMissingLogIsNoHistory)
{
    const ScratchFolder folder;
    RunHistory history(folder / "none.db");
    QSignalSpy changed(&history, &RunHistory::changed);
    history.read();
    EXPECT_FALSE(changed.wait(200));
    EXPECT_FALSE(std::filesystem::exists(folder / "none.db"));
}

} // namespace stripwright
