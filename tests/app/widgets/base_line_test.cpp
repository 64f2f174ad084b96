#include "widgets/base_line.h"

#include "fake_controller.h"
#include "widgets/stop_button.h"

#include <QLabel>
#include <QPushButton>
#include <gtest/gtest.h>

namespace stripwright {

using test::FakeController;
using test::heating;

struct Foot : testing::Test {
    Foot() : controller(run)
    {
        line.resize(1200, 120);
        line.show();
    }
    static Status tripped(bool acknowledged, bool causeSeen)
    {
        Status status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 180.0};
        status.trip = Trip{"unexpected heat: pull the mains plug", acknowledged, causeSeen};
        return status;
    }
    QString text(const char* name) const { return line.findChild<QLabel*>(name)->text(); }
    bool shown(const char* name) const { return line.findChild<QWidget*>(name)->isVisible(); }
    QPushButton* button(const char* name) const { return line.findChild<QPushButton*>(name); }
    template <class Condition> bool becomes(Condition condition) { return QTest::qWaitFor(condition); }

    LiveRun run;
    BaseLine line{run};
    FakeController controller;
};

TEST_F(Foot, ATripStandsThereInWordsWithANameForScreenReaders)
{
    controller.say(tripped(false, true));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    EXPECT_TRUE(text("tripText").contains("pull the mains plug"));
    EXPECT_TRUE(text("tripText").startsWith("▲"));
    EXPECT_EQ(line.findChild<QWidget*>("trip")->property("tone"), "abnormal");
    EXPECT_TRUE(line.findChild<QWidget*>("trip")->accessibleName().contains("pull the mains plug"));
    EXPECT_TRUE(button("tripSeen")->isEnabled());
    EXPECT_FALSE(button("tripReset")->isEnabled());
    EXPECT_TRUE(button("tripReset")->accessibleName().contains("pull the mains plug"));
}

TEST_F(Foot, SeenTellsTheControllerAndTheTripStaysCalm)
{
    controller.say(tripped(false, true));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    button("tripSeen")->click();
    EXPECT_TRUE(controller.hears<AcknowledgeTrip>());
    controller.say(tripped(true, true));
    ASSERT_TRUE(becomes([&] { return !shown("tripSeen"); }));
    EXPECT_TRUE(shown("trip"));
    EXPECT_EQ(line.findChild<QWidget*>("trip")->property("tone"), "message");
    EXPECT_FALSE(button("tripReset")->isEnabled()); // the cause is still there
}

TEST_F(Foot, ResetIsThereOnceSeenAndTheCauseIsGone)
{
    controller.say(tripped(true, false));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    ASSERT_TRUE(button("tripReset")->isEnabled());
    button("tripReset")->click();
    EXPECT_TRUE(controller.hears<ResetTrip>());
    controller.say(Status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 30.0});
    EXPECT_TRUE(becomes([&] { return !shown("trip"); }));
}

TEST_F(Foot, ATripNobodyHasSeenOutlivesItsController)
{
    controller.say(tripped(false, true));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    run.close();
    EXPECT_TRUE(becomes([&] { return shown("kept"); }));
    EXPECT_TRUE(text("keptText").contains("pull the mains plug"));
    button("keptSeen")->click();
    EXPECT_FALSE(shown("kept"));
}

TEST_F(Foot, ATripNobodyHasSeenOutlivesTheNextControllersFirstWord)
{
    controller.say(tripped(false, true));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    controller.say(test::offNow());
    EXPECT_TRUE(becomes([&] { return shown("kept"); }));
    EXPECT_TRUE(text("keptText").contains("pull the mains plug"));
}

TEST_F(Foot, ATripThatWasSeenOutlivesItsControllerUntilItIsReset)
{
    controller.say(tripped(true, true));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    run.close(); // as another plate is connected
    ASSERT_TRUE(becomes([&] { return shown("kept"); }));
    EXPECT_FALSE(shown("trip"));
    EXPECT_TRUE(text("keptText").contains("pull the mains plug"));
    EXPECT_EQ(line.findChild<QWidget*>("kept")->property("tone"), "message") << "it was seen";
    EXPECT_EQ(button("keptSeen")->text(), "Reset");
    FakeController next(run);
    next.say(test::offNow());
    ASSERT_TRUE(becomes([&] { return run.live(); }));
    EXPECT_TRUE(shown("kept"));
    button("keptSeen")->click();
    EXPECT_FALSE(shown("kept"));
}

TEST_F(Foot, ATripThatWasSeenStandsOnceWhenItsControllerIsTakenUpAgain)
{
    controller.say(tripped(true, true));
    ASSERT_TRUE(becomes([&] { return shown("trip"); }));
    run.close();
    ASSERT_TRUE(becomes([&] { return shown("kept"); }));
    FakeController again(run);
    again.say(tripped(true, true));
    EXPECT_TRUE(becomes([&] { return shown("trip") && !shown("kept"); }));
}

TEST_F(Foot, NothingIsSaidToGoOfARunThatWasBrokenOff)
{
    HeatPlan plan;
    plan.heaterOffS = 300;
    controller.say(test::offNow());
    ASSERT_TRUE(becomes([&] { return run.live(); }));
    ASSERT_TRUE(run.start(plan));
    Status status = heating();
    status.runKey = "7";
    status.profileS = 100;
    status.endS = 420;
    controller.say(status);
    ASSERT_TRUE(becomes([&] { return text("clockMore").contains("5:20 to go"); }))
        << text("clockMore").toStdString();
    status.state = RunState::Cooling;
    status.heater = HeaterState::OffConfirmed;
    controller.say(status);
    EXPECT_TRUE(becomes([&] {
        return text("clockMore") == "cooling, heater off; waits until the plate is below 45 °C";
    })) << text("clockMore").toStdString();
    status.profileS = 320; // by the plan
    controller.say(status);
    EXPECT_TRUE(becomes([&] { return text("clockMore").contains("1:40 to go"); }));
}

TEST_F(Foot, APathThatHasEndedSaysWhatIsWaitedForNotThatNothingIsToGo)
{
    HeatPlan plan;
    plan.heaterOffS = 300;
    plan.safeBelowC = 40;
    controller.say(test::offNow());
    ASSERT_TRUE(becomes([&] { return run.live(); }));
    ASSERT_TRUE(run.start(plan));
    Status status{.state = RunState::Cooling, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    status.runKey = "7";
    status.sensorC = 61;
    status.profileS = status.endS = 420;
    controller.say(status);
    EXPECT_TRUE(becomes([&] {
        return text("clockMore") == "path over; waits until the plate is below 40 °C";
    })) << text("clockMore").toStdString();
    Sample sample{.seq = 1, .timeS = 470, .profileS = 420, .sensorC = 39};
    sample.jointHighC = 44;
    controller.say(sample);
    status.sensorC = 39;
    controller.say(status);
    EXPECT_TRUE(becomes([&] { return text("clockMore").contains("until the strip is below 40 °C"); }))
        << text("clockMore").toStdString();
}

TEST_F(Foot, WordsThatStandGoOnlyWithTheirCause)
{
    line.stand("Bench plate: Heater off NOT confirmed");
    EXPECT_TRUE(shown("kept"));
    EXPECT_FALSE(shown("keptSeen"));
    line.stand({});
    EXPECT_FALSE(shown("kept"));
}

TEST_F(Foot, NobodyIsSaidToHeatWhileSomethingElseMay)
{
    controller.say(test::offNow());
    ASSERT_TRUE(becomes([&] { return !run.heatMayBeOn(); }));
    run.close();
    bool proofHeats = true;
    QObject proof;
    stopPresses().add(
        &proof, [&] { return proofHeats; }, [] {});
    run.stopHeating();
    EXPECT_EQ(text("stopState"), "");
    proofHeats = false;
    line.refresh();
    EXPECT_EQ(text("stopState"), run.stopWords());
}

TEST_F(Foot, WordsThatAreKeptStayUntilSeen)
{
    line.keep("Bench plate: Heater off NOT confirmed");
    controller.say(heating());
    ASSERT_TRUE(becomes([&] { return run.runIsOn(); }));
    line.say("something else");
    line.say({});
    EXPECT_TRUE(shown("kept"));
    EXPECT_TRUE(text("keptText").contains("NOT confirmed"));
}

TEST_F(Foot, AStopThatIsNotConfirmedSaysSoAndKeepsWhatElseWasSaid)
{
    controller.say(heating());
    ASSERT_TRUE(becomes([&] { return run.heatMayBeOn(); }));
    run.stopHeating();
    line.say("Heating is being stopped");
    ASSERT_TRUE(becomes([&] { return run.stop() == LiveRun::Stop::NotConfirmed; }));
    EXPECT_TRUE(text("baseMessage").contains("at the mains"));
    EXPECT_TRUE(text("baseMessage").contains("being stopped"));
}

TEST_F(Foot, AfterALostControllerNothingLooksLive)
{
    controller.say(heating());
    ASSERT_TRUE(becomes([&] { return text("temperature").contains("151"); }));
    EXPECT_TRUE(line.findChild<QLabel*>("temperature")->isEnabled());
    controller.die();
    ASSERT_TRUE(becomes([&] { return shown("lost"); }));
    EXPECT_FALSE(line.findChild<QLabel*>("temperature")->isEnabled());
    EXPECT_FALSE(line.findChild<QLabel*>("clock")->isEnabled());
    EXPECT_TRUE(text("temperatureMore").startsWith("unknown since"));
    EXPECT_TRUE(text("clockMore").startsWith("unknown since"));
    EXPECT_TRUE(shown("takeUp"));
}

TEST_F(Foot, ASilentControllersValuesAreOfThePast)
{
    controller.say(heating());
    ASSERT_TRUE(becomes([&] { return text("temperature").contains("151"); }));
    EXPECT_TRUE(becomes([&] { return !line.findChild<QLabel*>("temperature")->isEnabled(); }));
    EXPECT_TRUE(run.unknownSince());
    EXPECT_TRUE(text("clockMore").startsWith("unknown since"));
}

} // namespace stripwright
