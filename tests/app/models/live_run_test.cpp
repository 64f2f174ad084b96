#include "models/live_run.h"

#include "fake_controller.h"

#include <QSignalSpy>
#include <QTest>
#include <gtest/gtest.h>

namespace stripwright {

using test::FakeController;
using test::heating;

static bool comesTo(const LiveRun& run, LiveRun::Stop stop)
{
    return QTest::qWaitFor([&] { return run.stop() == stop; });
}

TEST(LiveRun, KeepsSamplesInOrderOnce)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(Sample{.seq = 1, .timeS = 0.2, .sensorC = 23.1});
    controller.say(Sample{.seq = 2, .timeS = 0.4});
    controller.say(Sample{.seq = 2, .timeS = 0.4});
    controller.say(Sample{.seq = 3, .timeS = 0.6, .sensorC = 23.3});
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.samples().size() == 3; }));
    EXPECT_FALSE(controller.run.samples()[1].sensorC);
    EXPECT_DOUBLE_EQ(*controller.run.samples()[2].sensorC, 23.3);
}

TEST(LiveRun, PutsAMessageTogetherThatComesInPieces)
{
    LiveRun run;
    FakeController controller(run);
    const QByteArray line = QByteArray::fromStdString(encode(Sample{.seq = 1, .timeS = 7}));
    controller.sayBytes(line.left(9));
    QTest::qWait(20);
    EXPECT_TRUE(controller.run.samples().empty());
    controller.sayBytes(line.mid(9));
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.samples().size() == 1; }));
    EXPECT_DOUBLE_EQ(controller.run.samples()[0].timeS, 7);
}

TEST(LiveRun, ZeroDutyInMidHeatIsNotTakenForTheAnswerToAStop)
{
    LiveRun run;
    FakeController controller(run);
    Status status = heating();
    status.heater = HeaterState::OffConfirmed; // the loop asks for no heat in this cycle, and may in the next
    controller.say(status);
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.status().has_value(); }));
    EXPECT_TRUE(controller.run.heatMayBeOn());
    controller.run.stopHeating();
    EXPECT_TRUE(controller.hears<StopHeating>());
    controller.say(status);
    controller.say(Sample{.seq = 1, .timeS = 0.2});
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.samples().size() == 1; }));
    EXPECT_EQ(controller.run.stop(), LiveRun::Stop::Sent);
    status.state = RunState::Cooling;
    controller.say(status);
    EXPECT_TRUE(comesTo(controller.run, LiveRun::Stop::OffConfirmed));
    EXPECT_FALSE(controller.run.heatMayBeOn());
}

TEST(LiveRun, OffIsShownOnlyAfterItWasReadBack)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.status().has_value(); }));
    EXPECT_TRUE(controller.run.heatMayBeOn());
    controller.run.stopHeating();
    EXPECT_EQ(controller.run.stop(), LiveRun::Stop::Sent);
    EXPECT_TRUE(controller.hears<StopHeating>());
    Status status = heating();
    status.state = RunState::Stopping;
    status.heater = HeaterState::OffCommanded;
    controller.say(status);
    EXPECT_TRUE(comesTo(controller.run, LiveRun::Stop::Acknowledged));
    EXPECT_TRUE(controller.run.heatMayBeOn());
    status.heater = HeaterState::OffConfirmed;
    controller.say(status);
    EXPECT_TRUE(comesTo(controller.run, LiveRun::Stop::OffConfirmed));
    EXPECT_FALSE(controller.run.heatMayBeOn());
}

TEST(LiveRun, AStopWithoutAnswerIsNotConfirmed)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.status().has_value(); }));
    controller.run.stopHeating();
    EXPECT_TRUE(comesTo(controller.run, LiveRun::Stop::NotConfirmed));
}

TEST(LiveRun, ALostControllerLeavesEverythingUnknownAndTheRunOn)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.status().has_value(); }));
    EXPECT_FALSE(controller.run.unknownSince());
    controller.die();
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.phase() == LiveRun::Phase::Lost; }));
    EXPECT_TRUE(controller.run.unknownSince());
    EXPECT_TRUE(controller.run.runIsOn());
    EXPECT_TRUE(controller.run.heatMayBeOn());
    controller.run.stopHeating();
    EXPECT_NE(controller.run.stop(), LiveRun::Stop::OffConfirmed);
}

TEST(LiveRun, SilenceIsUnknownUntilTheControllerSpeaksAgain)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    EXPECT_TRUE(QTest::qWaitFor([&] { return controller.run.unknownSince().has_value(); }));
    EXPECT_EQ(controller.run.phase(), LiveRun::Phase::Connected);
    controller.say(heating());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !controller.run.unknownSince(); }));
}

TEST(LiveRun, ARefusalIsPassedOnAndNoRunIsOn)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(Status{.heater = HeaterState::OffConfirmed});
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.status().has_value(); }));
    QSignalSpy refused(&controller.run, &LiveRun::refused);
    EXPECT_TRUE(controller.run.start(HeatPlan{}));
    EXPECT_TRUE(controller.run.runIsOn());
    EXPECT_TRUE(controller.hears<StartRun>());
    controller.say(Refused{"the plan is not runnable"});
    ASSERT_TRUE(QTest::qWaitFor([&] { return refused.count() == 1; }));
    EXPECT_EQ(refused[0][0].toString(), "the plan is not runnable");
    EXPECT_FALSE(controller.run.runIsOn());
}

TEST(LiveRun, AMissingControllerFailsWithItsPath)
{
    LiveRun run;
    LiveRunSetup setup;
    setup.binFolder = "/no/such/folder";
    setup.plateLink = "/tmp/x.plate.json";
    run.open(setup, BenchSheet{});
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Failed; }));
    EXPECT_TRUE(run.phaseText().contains("/no/such/folder/stripwright-controller"))
        << run.phaseText().toStdString();
}

} // namespace stripwright
