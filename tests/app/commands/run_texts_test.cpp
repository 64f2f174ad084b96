#include "commands/run_texts.h"

#include "demo_sheet.h"
#include "planner/plan_sheet.h"

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>

using namespace stripwright;
using testing::HasSubstr;
using testing::IsEmpty;

namespace {

RecordedRun soundRun()
{
    static const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    return {{.key = "20261129100000-1",
             .startedUtc = "2026-11-29T10:00:00Z",
             .endedUtc = "2026-11-29T10:08:00Z",
             .title = plan.sheet.title,
             .outcome = Outcome::Completed},
            toJson(plan).dump(),
            "{}",
            {},
            {{1, 0, "state", "info", "plate at 23 °C"}}};
}

} // namespace

TEST(RunTexts, OfASoundRunAreWhatWasWritten)
{
    const RunTexts texts = textsOf(soundRun());
    EXPECT_THAT(texts.garbled, IsEmpty());
    ASSERT_TRUE(texts.plan);
    EXPECT_EQ(texts.plan->sheet.targets(), std::vector{6});
}

TEST(RunTexts, EachTextThatCannotBeWhatWasWrittenIsSaid)
{
    const auto garbled = [](const auto& spoil) {
        RecordedRun run = soundRun();
        spoil(run);
        return textsOf(run).garbled;
    };
    EXPECT_THAT(garbled([](RecordedRun& run) { run.planText[200] = '\x01'; }), HasSubstr("its plan"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.planText.resize(run.planText.size() / 2); }),
                HasSubstr("its plan"));
    EXPECT_THAT(garbled([](RecordedRun& run) {
                    run.planText.replace(run.planText.find("\"cards\""), 7, "\"cXrds\"");
                }),
                HasSubstr("/cards: found nothing"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.planText = "{}"; }), HasSubstr("/format"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.summary.title[3] = 'X'; }), HasSubstr("title"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.summary.outcomeText = "st\xFFpped"; }),
                HasSubstr("outcome"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.summary.outcome.reset(); }), HasSubstr("outcome"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.summary.startedUtc[3] = '7'; }), HasSubstr("start"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.plateLinkText = std::string(4, '\0'); }),
                HasSubstr("plate link"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.events[0].text = "\x02"; }), HasSubstr("event 1"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.events[0].kind = "stXte"; }), HasSubstr("event 1"));
    EXPECT_THAT(garbled([](RecordedRun& run) { run.events[0].severity = "xnfo"; }), HasSubstr("event 1"));
}

TEST(RunTexts, APlanOfAnotherVersionIsNotGarbled)
{
    RecordedRun run = soundRun();
    auto plan = nlohmann::json::parse(run.planText);
    plan["version"] = 99;
    run.planText = plan.dump();
    const RunTexts texts = textsOf(run);
    EXPECT_THAT(texts.garbled, IsEmpty());
    EXPECT_FALSE(texts.plan);
}

TEST(RunTexts, BetweenRunsAreJudgedToo)
{
    EXPECT_THAT(garbledIn({{"2026-11-29T10:00:00Z", "note", "info", "n"}}), IsEmpty());
    EXPECT_THAT(garbledIn({{"2026-11-29T10:00:00Z", "note", "info", "\xC3"}}), HasSubstr("between runs"));
}

TEST(RunTexts, GoToATerminalWithoutWhatItWouldObey)
{
    EXPECT_EQ(printable("\x1b[2Jbar\x07"), "?[2Jbar?");
    EXPECT_EQ(printable("24 °C\xFF"), "24 °C\xEF\xBF\xBD");
}
