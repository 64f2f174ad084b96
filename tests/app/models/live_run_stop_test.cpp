#include "fake_controller.h"
#include "models/live_run.h"
#include "scratch_folder.h"

#include <QSignalSpy>
#include <QTest>
#include <atomic>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>

namespace stripwright {

using test::FakeController;
using test::heating;

static bool comesTo(const LiveRun& run, LiveRun::Stop stop)
{
    return QTest::qWaitFor([&] { return run.stop() == stop; }, 10000);
}

/// A run whose controller heats.
struct LiveRunStop : testing::Test {
    LiveRunStop()
    {
        controller.say(heating());
        EXPECT_TRUE(QTest::qWaitFor([&] { return run.status().has_value(); }));
    }
    void lose()
    {
        controller.hangUp();
        EXPECT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Lost; }));
    }
    LiveRun run;
    FakeController controller{run};
};

static Status cooling(HeaterState heater)
{
    Status status = heating();
    status.state = RunState::Cooling;
    status.heater = heater;
    return status;
}

TEST_F(LiveRunStop, IsOnItsWayBeforeTheCallReturnsWhateverStandsBeforeIt)
{
    run.addNote(QString(8 << 20, 'x')); // nobody reads it
    run.stopHeating();
    EXPECT_TRUE(controller.stopIsHere());
    EXPECT_EQ(run.stop(), LiveRun::Stop::Sent);
}

TEST_F(LiveRunStop, ZeroDutyInMidHeatIsNotTakenForItsAnswer)
{
    Status status = heating();
    status.heater = HeaterState::OffConfirmed; // the loop asks for no heat in this cycle, and may in the next
    EXPECT_TRUE(run.heatMayBeOn());
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    controller.answerStop(status);
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::Acknowledged));
    EXPECT_TRUE(run.heatMayBeOn());
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
    EXPECT_FALSE(run.heatMayBeOn());
}

TEST_F(LiveRunStop, OffIsShownOnlyAfterItWasReadBack)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    controller.answerStop(cooling(HeaterState::OffCommanded));
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::Acknowledged));
    EXPECT_TRUE(run.heatMayBeOn());
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
    EXPECT_FALSE(run.heatMayBeOn());
}

TEST_F(LiveRunStop, AnAnswerToAnotherStopIsNone)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    QSignalSpy heard(&run, &LiveRun::statusChanged);
    controller.answerStop(cooling(HeaterState::OffConfirmed), -1);
    controller.answerStop(cooling(HeaterState::OffConfirmed), +1);
    controller.say(cooling(HeaterState::OffConfirmed));
    ASSERT_TRUE(QTest::qWaitFor([&] { return heard.count() >= 3; }));
    EXPECT_NE(run.stop(), LiveRun::Stop::OffConfirmed);
    EXPECT_NE(run.stop(), LiveRun::Stop::Acknowledged);
}

TEST_F(LiveRunStop, PressedAgainAndAgainIsAnsweredByAnyOfThese)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    const long first = controller.lastStop;
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    EXPECT_GT(controller.lastStop, first);
    controller.lastStop = first;
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
}

TEST_F(LiveRunStop, OnceHeardIsAnsweredByOffAlsoWhenAnotherClientsStopCameAfterIt)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    controller.answerStop(cooling(HeaterState::OffCommanded));
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::Acknowledged));
    controller.answerStop(cooling(HeaterState::OffConfirmed), +1000);
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
}

TEST_F(LiveRunStop, HeardOnItsOwnConnectionIsNotAnsweredByWhatIsOlder)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    Status status = cooling(HeaterState::OffCommanded);
    status.stopTaken = controller.lastStop;
    controller.sayToStops(status);
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::Acknowledged));
    QSignalSpy heard(&run, &LiveRun::statusChanged);
    controller.say(test::offNow()); // from before the run
    ASSERT_TRUE(QTest::qWaitFor([&] { return heard.count() >= 1; }));
    EXPECT_EQ(run.stop(), LiveRun::Stop::Acknowledged);
}

TEST_F(LiveRunStop, OffIsNoLongerSaidOnceThePlateHeatsAgain)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
    controller.answerStop(heating());
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::None));
    EXPECT_EQ(run.stopWords(), "");
}

TEST_F(LiveRunStop, OffIsNoLongerSaidOnceTheControllerIsGone)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
    lose();
    EXPECT_EQ(run.stop(), LiveRun::Stop::None);
}

TEST_F(LiveRunStop, ComesBehindAStartThatWasJustSent)
{
    Status off = test::offNow();
    controller.say(off);
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn(); }));
    ASSERT_TRUE(run.start(HeatPlan{}));
    run.stopHeating(); // without a turn of the event loop in between
    EXPECT_TRUE(controller.hears<StartRun>());
    EXPECT_TRUE(controller.hears<StopHeating>());
}

TEST_F(LiveRunStop, IsRepeatedUntilItIsAnswered)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    EXPECT_TRUE(controller.hearsStop());
    EXPECT_TRUE(controller.hearsStop());
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
    controller.hearsStop(100); // what was under way
    EXPECT_FALSE(controller.hearsStop(1200));
}

TEST_F(LiveRunStop, MayBeAnsweredOnItsOwnConnection)
{
    run.stopHeating();
    ASSERT_TRUE(controller.hearsStop());
    Status status = cooling(HeaterState::OffConfirmed);
    status.stopTaken = controller.lastStop;
    controller.sayToStops(status);
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
}

TEST_F(LiveRunStop, WithoutAnswerStaysNotConfirmedUntilOneComes)
{
    run.stopHeating();
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::NotConfirmed));
    EXPECT_TRUE(run.stopWords().contains("at the mains")) << run.stopWords().toStdString();
    run.stopHeating();
    EXPECT_EQ(run.stop(), LiveRun::Stop::NotConfirmed);
    EXPECT_FALSE(run.start(HeatPlan{}));
    lose();
    EXPECT_EQ(run.stop(), LiveRun::Stop::NotConfirmed);
    run.takeUpAgain();
    controller.takeConnections();
    EXPECT_EQ(run.stop(), LiveRun::Stop::NotConfirmed);
    ASSERT_TRUE(controller.hearsStop()); // it asks again by itself
    controller.answerStop(cooling(HeaterState::OffConfirmed));
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
}

TEST_F(LiveRunStop, NotConfirmedSurvivesClosing)
{
    run.stopHeating();
    ASSERT_TRUE(comesTo(run, LiveRun::Stop::NotConfirmed));
    Status ended = heating();
    ended.state = RunState::Ended;
    ended.heater = HeaterState::OffCommanded;
    controller.say(ended);
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn(); }));
    run.close();
    EXPECT_EQ(run.phase(), LiveRun::Phase::Off);
    EXPECT_EQ(run.stop(), LiveRun::Stop::NotConfirmed);
    EXPECT_TRUE(run.heatMayBeOn());
}

TEST_F(LiveRunStop, ReachesAControllerWhoseConnectionWasLost)
{
    lose();
    run.stopHeating();
    controller.takeStopConnection();
    ASSERT_TRUE(controller.hearsStop());
    EXPECT_TRUE(run.stopWords().contains("sent to the controller")) << run.stopWords().toStdString();
    Status status = cooling(HeaterState::OffConfirmed);
    status.stopTaken = controller.lastStop;
    controller.sayToStops(status);
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
    EXPECT_FALSE(run.heatMayBeOn());
}

TEST_F(LiveRunStop, WithNobodyLeftToTellIsSaid)
{
    controller.die();
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Lost; }));
    run.stopHeating();
    EXPECT_EQ(run.stop(), LiveRun::Stop::Sent);
    EXPECT_TRUE(run.stopWords().contains("no controller could be told")) << run.stopWords().toStdString();
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::NotConfirmed));
}

static std::atomic<int> termSignals = 0;

/// This process stands for a controller that is found running, too.
struct LiveRunStopElsewhere : testing::Test {
    LiveRunStopElsewhere()
    {
        before_ = std::signal(SIGTERM, [](int) { ++termSignals; });
        termSignals = 0;
    }
    ~LiveRunStopElsewhere() override { std::signal(SIGTERM, before_); }
    RunningController found(const std::string& socket) const
    {
        RunningController controller;
        controller.plateLink = (folder / "bench.plate.json").string();
        controller.socket = socket;
        return controller;
    }
    ScratchFolder folder;

private:
    void (*before_)(int);
};

TEST_F(LiveRunStopElsewhere, ASecondWindowStopsTheHeatOfTheFirst)
{
    LiveRun first, second;
    FakeController controller(first);
    const RunningMark mark(found(controller.socketPath().toStdString()));
    second.stopHeating();
    controller.takeStopConnection();
    ASSERT_TRUE(controller.hearsStop());
    Status status = cooling(HeaterState::OffConfirmed);
    status.stopTaken = controller.lastStop;
    controller.sayToStops(status);
    EXPECT_TRUE(comesTo(second, LiveRun::Stop::OffConfirmed));
    EXPECT_EQ(first.stop(), LiveRun::Stop::None);
}

TEST_F(LiveRunStopElsewhere, AControllerThatDoesNotListenIsAskedToEndByASignal)
{
    const RunningMark mark(found((folder / "nobody-listens").string()));
    LiveRun run;
    run.stopHeating();
    EXPECT_GE(termSignals, 1);
    EXPECT_TRUE(run.stopWords().contains("asked to end")) << run.stopWords().toStdString();
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::NotConfirmed));
}

TEST_F(LiveRunStopElsewhere, OneThatStandsStillIsAskedToEndByASignal)
{
    LiveRun first, second;
    FakeController controller(first);
    const RunningMark mark(found(controller.socketPath().toStdString()));
    second.stopHeating();
    EXPECT_TRUE(QTest::qWaitFor([] { return termSignals > 0; }, 10000));
}

TEST_F(LiveRunStopElsewhere, WithNoControllerAtAllThereIsNothingToStop)
{
    LiveRun run;
    run.stopHeating();
    EXPECT_EQ(run.stop(), LiveRun::Stop::None);
    EXPECT_FALSE(run.stopWords().isEmpty());
}

/// Stands where the controller's program is looked for.
struct LiveRunStopOwnController : testing::Test {
    void controllerIs(const std::string& script)
    {
        setup.binFolder = folder / "";
        setup.plateLink = folder / "bench.plate.json";
        setup.runsFile = folder / "runs.db";
        const auto program = folder / "stripwright-controller";
        std::ofstream(program) << "#!/bin/sh\n" << script;
        std::filesystem::permissions(program, std::filesystem::perms::owner_all);
    }
    ScratchFolder folder;
    LiveRunSetup setup;
};

TEST_F(LiveRunStopOwnController, StoppedWhileItStartsItsEndIsTheAnswer)
{
    controllerIs("trap 'exit 0' TERM\necho >> " + (folder / "begun").string() +
                 "\nwhile :; do sleep 0.05; done\n");
    LiveRun run;
    ASSERT_TRUE(run.open(setup, BenchSheet{}));
    ASSERT_TRUE(QTest::qWaitFor([&] { return std::filesystem::exists(folder / "begun"); }, 20000));
    run.stopHeating();
    EXPECT_TRUE(comesTo(run, LiveRun::Stop::OffConfirmed));
}

TEST_F(LiveRunStopOwnController, WithAnotherPlateOpenedTheOneBeforeGetsNoStop)
{
    LiveRun run;
    FakeController before(run);
    before.say(test::offNow());
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.heatMayBeOn(); }));
    controllerIs("while :; do sleep 0.05; done\n");
    ASSERT_TRUE(run.open(setup, BenchSheet{}));
    run.stopHeating();
    EXPECT_FALSE(run.stopWords().contains("sent to the controller")) << run.stopWords().toStdString();
}

} // namespace stripwright
