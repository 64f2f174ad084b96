#include "models/plan_maker.h"

#include <QSignalSpy>
#include <QTest>
#include <atomic>
#include <future>
#include <gtest/gtest.h>
#include <sched.h>
#include <semaphore>
#include <stdexcept>

namespace stripwright {

static BenchSheet titled(const std::string& title)
{
    BenchSheet sheet;
    sheet.title = title;
    return sheet;
}

TEST(PlanMaker, OfManyRequestsOnlyTheNewestIsPlannedNextAndPublished)
{
    std::counting_semaphore<> go{0};
    std::atomic<int> made = 0;
    PlanMaker maker([&](const BenchSheet& sheet) {
        go.acquire();
        ++made;
        return JobPlan{sheet, {HeatPlan{.sheet = sheet}}};
    });
    QSignalSpy planned(&maker, &PlanMaker::planned);
    for (const char* title : {"first", "second", "third", "fourth"})
        maker.request(titled(title));
    EXPECT_TRUE(maker.busy());
    EXPECT_EQ(maker.plan(), nullptr);
    go.release(4);
    ASSERT_TRUE(planned.wait(5000));
    EXPECT_EQ(maker.plan()->sheet.title, "fourth");
    EXPECT_EQ(planned.count(), 1);
    EXPECT_EQ(made, 2);
    EXPECT_FALSE(maker.busy());
}

// So that trying out what would help does not slow down the plan of the sheet.
TEST(PlanMaker, ThreadsOfAnIdlePlanRunOnlyWhereNobodyElseWantsTo)
{
    int policy = -1;
    PlanMaker maker(
        [&](const BenchSheet& sheet) {
            policy = std::async(std::launch::async, [] { return sched_getscheduler(0); }).get();
            return JobPlan{sheet, {HeatPlan{.sheet = sheet}}};
        },
        QThread::IdlePriority);
    QSignalSpy planned(&maker, &PlanMaker::planned);
    maker.request(titled("any"));
    ASSERT_TRUE(planned.wait(5000));
    EXPECT_EQ(policy, SCHED_IDLE);
}

TEST(PlanMaker, AFailureIsToldAndTheOldPlanStays)
{
    PlanMaker maker([](const BenchSheet& sheet) {
        if (sheet.title == "bad")
            throw std::runtime_error("cannot plan this");
        return JobPlan{sheet, {HeatPlan{.sheet = sheet}}};
    });
    QSignalSpy planned(&maker, &PlanMaker::planned);
    maker.request(titled("good"));
    ASSERT_TRUE(planned.wait(5000));
    maker.request(titled("bad"));
    ASSERT_TRUE(planned.wait(5000));
    EXPECT_EQ(maker.failure(), "cannot plan this");
    EXPECT_EQ(maker.plan()->sheet.title, "good");
}

} // namespace stripwright
