#include "models/live_run.h"

#include "demo_sheet.h"
#include "fake_controller.h"
#include "planner/plan_sheet.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <QSignalSpy>
#include <QTest>
#include <QTimer>
#include <gtest/gtest.h>

namespace stripwright {

using test::FakeController;
using test::heating;
using test::offNow;

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

TEST(LiveRun, HeatsNothingThatNobodyElseCouldFindAndStop)
{
    const ScratchFolder folder;
    const std::filesystem::path open = std::filesystem::path(folder / "open");
    std::filesystem::create_directory(open);
    const QByteArray before = qgetenv("STRIPWRIGHT_RUNNING");
    qputenv("STRIPWRIGHT_RUNNING", QByteArray::fromStdString(open.string()));
    LiveRun run;
    FakeController controller(run);
    controller.say(offNow());
    ASSERT_TRUE(QTest::qWaitFor([&] { return controller.run.status().has_value(); }));
    QSignalSpy refusals(&controller.run, &LiveRun::refused);
    std::filesystem::permissions(open, std::filesystem::perms(0755));
    EXPECT_FALSE(controller.run.start(HeatPlan{}));
    ASSERT_EQ(refusals.size(), 1);
    EXPECT_TRUE(refusals.at(0).at(0).toString().contains("chmod 700"));
    std::filesystem::permissions(open, std::filesystem::perms(0700));
    EXPECT_TRUE(controller.run.start(HeatPlan{}));
    qputenv("STRIPWRIGHT_RUNNING", before);
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
    controller.say(Refused{"no trip stands", wireName(AcknowledgeTrip{})});
    ASSERT_TRUE(QTest::qWaitFor([&] { return refused.count() == 1; }));
    EXPECT_TRUE(controller.run.runIsOn());
    controller.say(Refused{"the plan is not runnable", wireName(StartRun{})});
    ASSERT_TRUE(QTest::qWaitFor([&] { return refused.count() == 2; }));
    EXPECT_EQ(refused[1][0].toString(), "the plan is not runnable");
    EXPECT_FALSE(controller.run.runIsOn());
}

TEST(LiveRun, ValuesAreNotLiveWhileTheControllersOwnLinkIsLost)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.live(); }));
    EXPECT_DOUBLE_EQ(run.liveSensorC().value_or(0), 151.0);
    Status lost = heating();
    lost.link = LinkState::Lost;
    QSignalSpy heard(&run, &LiveRun::statusChanged);
    controller.say(lost);
    ASSERT_TRUE(QTest::qWaitFor([&] { return heard.count() == 1; }));
    EXPECT_FALSE(run.live());
    EXPECT_TRUE(run.unknownSince());
    EXPECT_FALSE(run.liveSensorC());
}

TEST(LiveRun, HeatMayBeOnFromTheFirstContactUntilOffWasReadBack)
{
    LiveRun run;
    EXPECT_FALSE(run.heatMayBeOn());
    FakeController controller(run);
    EXPECT_TRUE(run.heatMayBeOn()); // nothing was heard yet
    controller.say(offNow());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !run.heatMayBeOn(); }));
    Status unsure = offNow();
    unsure.state = RunState::Ended;
    unsure.heater = HeaterState::OffCommanded;
    controller.say(unsure);
    EXPECT_TRUE(QTest::qWaitFor([&] { return run.heatMayBeOn(); }));
    run.close();
    EXPECT_EQ(run.phase(), LiveRun::Phase::Off);
    EXPECT_TRUE(run.heatMayBeOn());
    EXPECT_TRUE(run.canTakeUpAgain());
}

TEST(LiveRun, AfterContactIsTakenUpAgainNothingIsLiveBeforeTheFirstStatus)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.live(); }));
    EXPECT_FALSE(run.canTakeUpAgain());
    controller.hangUp();
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Lost; }));
    EXPECT_FALSE(run.liveSensorC());
    ASSERT_TRUE(run.canTakeUpAgain());
    run.takeUpAgain();
    controller.takeConnections();
    EXPECT_FALSE(run.live());
    controller.say(heating());
    EXPECT_TRUE(QTest::qWaitFor([&] { return run.live(); }));
}

TEST(LiveRun, AFloodLeavesTurnsToOthersAndLosesNoEvent)
{
    LiveRun run;
    FakeController controller(run);
    bool othersHadTheirTurn = false;
    size_t eventsThen = 0;
    QObject::connect(&run, &LiveRun::eventAdded, &run, [&, asked = false]() mutable {
        if (!std::exchange(asked, true))
            QTimer::singleShot(0, &run, [&] {
                othersHadTheirTurn = true;
                eventsThen = run.events().size();
            });
    });
    constexpr long blocks = 400, samplesInABlock = 100;
    QByteArray flood;
    for (long block = 1; block <= blocks; ++block) {
        flood += QByteArray::fromStdString(encode(Event{block, 0, "note", "info", "one of many"}));
        for (long n = 1; n <= samplesInABlock; ++n)
            flood += QByteArray::fromStdString(encode(Sample{.seq = (block - 1) * samplesInABlock + n}));
    }
    controller.sayBytes(flood);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status().has_value(); }, 60000));
    EXPECT_TRUE(othersHadTheirTurn);
    EXPECT_LT(eventsThen, size_t(blocks));
    EXPECT_EQ(run.events().size(), size_t(blocks));
    EXPECT_LT(run.samples().size(), size_t(blocks * samplesInABlock)); // old ones are passed over
    EXPECT_EQ(run.samples().back().seq, blocks * samplesInABlock);
}

TEST(LiveRun, EventsOfAnIdleControllerAreKeptAndARunHasItsOwn)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(offNow());
    controller.say(Event{1, 0, "interlock", "trip", "pull the mains plug"});
    controller.say(Event{1, 0, "interlock", "trip", "pull the mains plug"});
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.events().size() == 1; }));
    ASSERT_TRUE(run.start(HeatPlan{}));
    EXPECT_TRUE(run.events().empty());
    controller.say(Event{2, 0, "state", "info", "waiting for the hands"});
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.events().size() == 1; }));
    EXPECT_EQ(run.allEvents().size(), 2u);
}

TEST(LiveRun, ATripComesIsSeenAndGoes)
{
    LiveRun run;
    FakeController controller(run);
    QSignalSpy changed(&run, &LiveRun::tripChanged);
    Status status = offNow();
    controller.say(status);
    status.trip = Trip{"the plate gets warmer although no run is on", false, true};
    controller.say(status);
    controller.say(status);
    ASSERT_TRUE(QTest::qWaitFor([&] { return changed.count() == 1; }));
    run.acknowledgeTrip();
    EXPECT_TRUE(controller.hears<AcknowledgeTrip>());
    status.trip->acknowledged = true;
    controller.say(status);
    EXPECT_TRUE(QTest::qWaitFor([&] { return changed.count() == 2; }));
    run.resetTrip();
    EXPECT_TRUE(controller.hears<ResetTrip>());
    controller.say(offNow());
    EXPECT_TRUE(QTest::qWaitFor([&] { return changed.count() == 3; }));
}

TEST(LiveRun, ARunThatIsFollowedIsReadFromTheLog)
{
    const ScratchFolder folder;
    const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
    RunWriter log(folder / "runs.db");
    const std::string key = log.begin(toJson(plan).dump(), "{}", "2026-01-01T10:00:00Z");
    for (long seq = 1; seq <= 5; ++seq)
        log.add(Sample{.seq = seq, .timeS = double(seq)});
    log.add(Event{1, 0, "state", "info", "heating by the plan"});
    log.add(Event{2, 4, "state", "info", "holding"}); // of which the controller says: its seventh
    log.commit();

    LiveRun run;
    QSignalSpy read(&run, &LiveRun::runRead);
    QLocalServer server;
    ASSERT_TRUE(server.listen(QString::fromStdString((folder / "talk").string())));
    RunningController found;
    found.socket = (folder / "talk").string();
    found.runsFile = (folder / "runs.db").string();
    ASSERT_TRUE(run.attach(found));
    QList<QLocalSocket*> came; // the stops' connection is made first
    ASSERT_TRUE(QTest::qWaitFor([&] {
        if (QLocalSocket* one = server.nextPendingConnection())
            came += one;
        return came.size() == 2 && run.phase() == LiveRun::Phase::Connected;
    }));
    QLocalSocket* peer = came[1];
    Status status = heating();
    status.runKey = key;
    peer->write(QByteArray::fromStdString(encode(status)));
    peer->write(QByteArray::fromStdString(encode(Sample{.seq = 5, .timeS = 5})));
    peer->write(QByteArray::fromStdString(encode(Event{7, 4, "state", "info", "holding"})));
    peer->write(QByteArray::fromStdString(encode(Event{8, 2, "note", "info", "not in the log yet"})));
    peer->write(QByteArray::fromStdString(encode(Sample{.seq = 7, .timeS = 7})));
    peer->flush();
    ASSERT_TRUE(QTest::qWaitFor([&] { return read.count() == 1; }, 20000));
    EXPECT_EQ(read[0][0].toString(), "");
    ASSERT_EQ(run.samples().size(), 6u);
    EXPECT_EQ(run.samples().front().seq, 1);
    EXPECT_EQ(run.samples().back().seq, 7);
    ASSERT_EQ(run.events().size(), 3u);
    EXPECT_EQ(run.events()[1].text, "not in the log yet");
    EXPECT_EQ(run.events()[2].text, "holding");
    ASSERT_TRUE(run.runPlan());
    EXPECT_EQ(run.runPlan()->sheet, plan.sheet);
    EXPECT_TRUE(run.runIsOn());
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
