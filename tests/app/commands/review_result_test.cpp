#include "commands/run_in_terminal.h"

#include "commands/commands.h"
#include "commands/review.h"
#include "demo_sheet.h"
#include "messages/solder_mark_text.h"
#include "models/simulated_hands.h"
#include "planner/plan_sheet.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <thread>

using namespace stripwright;

namespace {

/// A run log with one run of three samples.
class ReviewResult : public testing::Test {
protected:
    ReviewResult()
    {
        RunWriter writer(runs_);
        const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
        key_ = writer.begin(toJson(plan).dump(), "{}", "2026-11-29T10:00:00Z");
        for (long seq = 1; seq <= 3; ++seq)
            writer.add(Sample{.seq = seq, .timeS = 0.2 * static_cast<double>(seq), .sensorC = 23});
        writer.end(Outcome::Completed, "", "2026-11-29T10:01:00Z");
        stoppedKey_ = writer.begin(toJson(plan).dump(), "{}", "2026-11-29T10:02:00Z");
        writer.end(Outcome::StoppedByLimit, "over temperature", "2026-11-29T10:03:00Z");
    }
    int codeOf(const RunResult& result, const std::filesystem::path& runs)
    {
        testing::internal::CaptureStdout();
        testing::internal::CaptureStderr();
        const int code = reviewResult(result, runs);
        testing::internal::GetCapturedStdout();
        talk_ = testing::internal::GetCapturedStderr();
        return code;
    }

    const ScratchFolder folder_;
    const std::filesystem::path runs_ = folder_ / "runs.db";
    std::string key_, stoppedKey_, talk_;
};

} // namespace

TEST_F(ReviewResult, SaysWhatTheRunLogLacksAndHowAHeatEndedComesFirst)
{
    EXPECT_EQ(codeOf({.code = exitOk, .runKey = key_, .samples = 3}, runs_), exitOk);
    EXPECT_EQ(talk_, "");
    EXPECT_EQ(codeOf({.code = exitOk, .runKey = key_, .samples = 5}, runs_), exitCannotWrite);
    EXPECT_NE(talk_.find("holds 3 of the run's 5 samples"), std::string::npos) << talk_;
    EXPECT_EQ(codeOf({.code = exitCannotWrite, .runKey = key_, .samples = 3}, runs_), exitCannotWrite);
    EXPECT_NE(talk_.find("could not write all"), std::string::npos) << talk_;
    EXPECT_EQ(codeOf({.code = exitStoppedByLimit, .runKey = stoppedKey_, .samples = 5}, runs_),
              exitStoppedByLimit);

    const std::filesystem::path gone = folder_ / "gone.db";
    EXPECT_EQ(codeOf({.code = exitOk, .runKey = key_, .samples = 3}, gone), exitCannotWrite);
    EXPECT_NE(talk_.find("gone.db"), std::string::npos) << talk_;
    EXPECT_EQ(codeOf({.code = exitStoppedByLimit, .runKey = key_, .samples = 3}, gone), exitStoppedByLimit);
}

TEST(Review, SaysWhichWorkPassedWithoutTheHandsSayingSo)
{
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    const auto card = std::ranges::find(plan.cards, "swap-led-6", &HandCard::id);
    ASSERT_NE(card, plan.cards.end());
    RecordedRun run;
    run.events = {Event{.timeS = card->atS, .kind = "card", .severity = "info", .text = card->text}};
    const auto unsaid = [&] { return reviewJson(run, plan).at("not_confirmed").get<std::string>(); };
    run.samples = {Sample{.seq = 1, .timeS = card->untilS - 1, .profileS = card->untilS - 1, .sensorC = 150}};
    EXPECT_THAT(unsaid(), testing::Not(testing::HasSubstr("site 6")));
    run.samples.push_back(Sample{.seq = 2, .timeS = card->untilS, .profileS = card->untilS, .sensorC = 150});
    EXPECT_THAT(unsaid(), testing::HasSubstr("LED set down at site 6"));
    run.events.push_back(
        Event{.timeS = card->untilS, .kind = "card", .severity = "info", .text = "done: swap-led-6"});
    EXPECT_EQ(unsaid(), "");
}

TEST(Review, TellsAPersonsMarksFromThoseOfTheSimulation)
{
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    char text[400];
    writeMarkText({.site = 6, .liquid = true, .beforeC = 140, .afterC = 139}, text, sizeof text);
    RecordedRun run;
    run.events = {Event{.timeS = 80, .kind = "mark", .severity = "info", .text = text}};
    const auto printed = [&](const std::string& note) {
        RecordedRun noted = run;
        noted.events.push_back(Event{.kind = "note", .severity = "info", .text = note});
        testing::internal::CaptureStdout();
        printReview(noted, plan);
        return testing::internal::GetCapturedStdout();
    };
    EXPECT_THAT(printed(simulatedHandsNote), testing::HasSubstr("at 80 s simulated hands: "));
    EXPECT_THAT(printed(simulatedPlateNote),
                testing::AllOf(testing::HasSubstr("simulated plate: nobody touched a strip"),
                               testing::Not(testing::HasSubstr("simulated hands"))));
}

TEST_F(ReviewResult, CodeAndRecordAgreeOnHowTheHeatEnded)
{
    EXPECT_EQ(codeOf({.code = exitStoppedByOperator, .runKey = key_, .samples = 3}, runs_), exitOk);
    EXPECT_NE(talk_.find("The record has this run as completed"), std::string::npos) << talk_;
    EXPECT_EQ(codeOf({.code = exitStoppedByOperator, .runKey = stoppedKey_}, runs_), exitStoppedByLimit);
    EXPECT_EQ(codeOf({.code = exitInternalFailure, .runKey = key_, .samples = 3}, runs_), exitInternalFailure)
        << "a heater that was not read back off is no end of a heat";
}

TEST_F(ReviewResult, OfARunThatWasFollowedWaitsForTheEndOfItsLog)
{
    RunWriter writer(runs_);
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    const std::string key = writer.begin(toJson(plan).dump(), "{}", "2026-11-29T11:00:00Z");
    std::thread late([&] {
        std::this_thread::sleep_for(std::chrono::milliseconds(300));
        writer.add(Sample{.seq = 1, .timeS = 0.2, .sensorC = 23});
        writer.end(Outcome::Completed, "", "2026-11-29T11:01:00Z");
    });
    EXPECT_EQ(codeOf({.code = exitOk, .runKey = key, .samples = 1, .logFollows = true}, runs_), exitOk);
    EXPECT_EQ(talk_, "");
    late.join();
}
