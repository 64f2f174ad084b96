#include "look_back/look_back_place.h"

#include "demo_sheet.h"
#include "messages/running.h"
#include "models/margin_table.h"
#include "planner/plan_sheet.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <QLabel>
#include <QListWidget>
#include <QTest>
#include <cstdlib>
#include <gtest/gtest.h>

namespace stripwright {

struct LookBack : testing::Test {
    LookBack()
    {
        setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1);
        plan = toJson(planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"))).dump();
        runs.begin(plan, "{}", "2026-11-25T09:10:00Z");
        for (int i = 1; i <= 60; ++i)
            runs.add(Sample{.seq = i, .timeS = double(i), .profileS = double(i), .sensorC = 25.0 + i});
        runs.add(Event{1, 1, "state", "info", "heating by the plan"});
        runs.commit();
    }
    ~LookBack() override { unsetenv("STRIPWRIGHT_RUNNING"); }
    bool says(const char* text) const
    {
        return std::ranges::any_of(place.findChildren<QLabel*>(), [&](const QLabel* label) {
            return label->isVisible() && label->text().contains(text);
        });
    }
    bool waitsFor(const char* text)
    {
        return QTest::qWaitFor([&] { return says(text); });
    }

    ScratchFolder folder;
    std::string plan;
    RunWriter runs{folder / "bench.runs"};
    RecordedRuns recorded{folder / "bench.runs"};
    LookBackPlace place{recorded};
};

TEST_F(LookBack, ARunThatGoesOnIsNotSaidToBeDead)
{
    RunningController writer;
    writer.socket = (folder / "talk").string();
    writer.runsFile = (folder / "bench.runs").string();
    const RunningMark mark(writer);
    place.show();
    place.enter();
    EXPECT_TRUE(waitsFor("still on. What was recorded up to 1:00"));
    EXPECT_TRUE(says("running now"));
    EXPECT_TRUE(place.findChild<QListWidget*>("runList")->item(0)->text().contains("running now"));
    EXPECT_FALSE(says("died"));
    EXPECT_FALSE(says("gone"));
    EXPECT_EQ(place.findChild<MarginTable*>()
                  ->headerData(MarginTable::ValueColumn, Qt::Horizontal, Qt::DisplayRole)
                  .toString(),
              "so far");

    runs.add(Sample{.seq = 61, .timeS = 61, .profileS = 61, .sensorC = 86});
    runs.end(Outcome::Completed, "", "2026-11-25T09:12:00Z");
    place.enter();
    EXPECT_TRUE(waitsFor("61 samples over 1:01"));
    EXPECT_FALSE(says("still on"));
}

TEST_F(LookBack, ARunWhoseControllerIsGoneIsNotSaidToGoOn)
{
    place.show();
    place.enter();
    EXPECT_TRUE(waitsFor("the controller that wrote it is gone"));
    EXPECT_FALSE(says("running now"));
}

} // namespace stripwright
