#include "at_the_plate/at_the_plate_place.h"

#include "demo_sheet.h"
#include "fake_controller.h"
#include "messages/solder_mark_text.h"
#include "models/wording.h"
#include "planner/plan_sheet.h"
#include "planner/solder_melts.h"
#include "rules/wording.h"
#include "widgets/base_line.h"
#include "widgets/curve_view.h"
#include "widgets/hand_card.h"

#include <QCheckBox>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <gtest/gtest.h>

namespace stripwright {

using test::FakeController;
using test::heating;

static std::shared_ptr<const JobPlan> jobOf(const std::shared_ptr<const HeatPlan>& plan)
{
    return std::make_shared<JobPlan>(JobPlan{plan->sheet, {*plan}});
}

struct AtThePlate : testing::Test {
    AtThePlate() : place(run), controller(run)
    {
        HeatPlan heat = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
        for (const HandCard& card : heat.cards)
            if (card.atS >= 0 && !during)
                during = card;
        EXPECT_TRUE(during);
        plan = std::make_shared<HeatPlan>(std::move(heat));
        place.setJob(jobOf(plan), 0, {}, false);
        place.resize(1000, 700);
        place.show();
        controller.say(Status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 23.0});
        place.acknowledgeCautions();
        EXPECT_TRUE(QTest::qWaitFor([&] { return place.ready(); }));
        place.start();
        say(heating());
        EXPECT_TRUE(QTest::qWaitFor([&] { return card() == QString::fromStdString(during->text); }));
    }
    void say(Status status)
    {
        status.card = during->id;
        status.profileS = during->atS + 1;
        controller.say(status);
    }
    QString card() { return place.findChild<QLabel*>("handCardText")->text().replace(QChar::Nbsp, ' '); }

    LiveRun run;
    AtThePlatePlace place;
    FakeController controller;
    std::shared_ptr<const HeatPlan> plan;
    std::optional<HandCard> during;
};

TEST_F(AtThePlate, AHeatBrokenOffTakesThePlansCardAway)
{
    Status stopped = heating();
    stopped.state = RunState::Cooling;
    stopped.heater = HeaterState::OffConfirmed;
    say(stopped);
    EXPECT_TRUE(QTest::qWaitFor([&] { return card().contains("broken off"); })) << card().toStdString();
}

TEST_F(AtThePlate, ThePathOfAHeatThatWasStoppedEndsThere)
{
    const auto* view = place.findChild<CurveView*>();
    const auto lastS = [&] {
        double s = 0;
        for (const PlotCurve& curve : view->curves())
            s = std::max(s, curve.timeS.empty() ? 0 : curve.timeS.back());
        return s;
    };
    controller.say(Sample{.seq = 1, .timeS = 10, .profileS = 10, .sensorC = 60});
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.samples().empty(); }));
    EXPECT_GT(lastS(), plan->heaterOffS);
    controller.say(Event{21, 11, "state", "info", inWords(RunState::Stopping)});
    controller.say(Sample{.seq = 2, .timeS = 12, .profileS = 11, .sensorC = 60});
    EXPECT_TRUE(QTest::qWaitFor([&] { return lastS() <= 12; })) << lastS();
    EXPECT_GE(lastS(), 10);
    controller.say(Sample{.seq = 3, .timeS = 100, .profileS = 11, .sensorC = 60});
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.samples().size() == 3; }));
    for (const PlotStage& stage : view->stages())
        EXPECT_LE(stage.endS, 12) << stage.name.toStdString();
    EXPECT_FALSE(view->stages().empty());
}

TEST_F(AtThePlate, WhatWasAgreedToForOneHeatIsNotForTheNext)
{
    const auto* cautions = place.findChild<QCheckBox*>("cautions");
    EXPECT_TRUE(cautions->isChecked());
    place.findChild<QPushButton*>("another")->click();
    EXPECT_FALSE(cautions->isChecked());
}

TEST_F(AtThePlate, ALostControllerTakesThePlansCardAway)
{
    controller.die();
    EXPECT_TRUE(QTest::qWaitFor([&] { return card().contains("at the mains"); })) << card().toStdString();
}

TEST_F(AtThePlate, ATripBlocksTheStartAndSaysWhy)
{
    Status tripped{.state = RunState::Idle, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    tripped.sensorC = 23.0;
    tripped.trip = Trip{"unexpected heat: pull the mains plug", true, false};
    controller.say(Status{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .sensorC = 23.0});
    controller.say(tripped);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status() && run.status()->trip; }));
    EXPECT_FALSE(place.ready());
    bool said = false;
    for (const QLabel* label : place.findChildren<QLabel*>())
        said = said || (label->text().startsWith("Not yet") && label->text().contains("unexpected heat"));
    EXPECT_TRUE(said);
    tripped.trip.reset();
    controller.say(tripped);
    EXPECT_TRUE(QTest::qWaitFor([&] { return place.ready(); }));
}

TEST_F(AtThePlate, NothingOfARunThatHasEndedLooksLive)
{
    Sample sample{.seq = 1, .timeS = 10, .profileS = 10, .sensorC = 151.5, .expectedC = 150, .duty = 0.4};
    sample.jointLowC = 140;
    sample.jointNominalC = 145;
    sample.jointHighC = 149;
    controller.say(sample);
    controller.say(heating());
    const auto value = [&](const char* name) { return place.findChild<QLabel*>(name); };
    ASSERT_TRUE(QTest::qWaitFor([&] { return value("jointValue")->text().contains("145"); }));
    EXPECT_TRUE(value("jointValue")->isEnabled());
    Status ended{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    ended.sensorC = 88.0;
    ended.outcome = Outcome::StoppedByOperator;
    ended.outcomeText = "stopped by the operator; plate at 88.0 °C";
    controller.say(ended);
    ASSERT_TRUE(QTest::qWaitFor([&] { return value("jointMore")->text() == "ended"; }));
    EXPECT_FALSE(value("jointValue")->text().contains("145"));
    EXPECT_FALSE(value("powerValue")->text().contains("40"));
    EXPECT_TRUE(value("plateValue")->text().contains("88"));
    EXPECT_TRUE(value("plateValue")->isEnabled()); // the controller still reads it
    EXPECT_EQ(card(),
              "The run has ended: stopped by the operator; plate at 88.0 °C. It stands in Look back.");
}

TEST_F(AtThePlate, NothingOfARunThatTheControllerKnowsNothingOfLooksLive)
{
    controller.say(Sample{.seq = 1, .timeS = 10, .profileS = 10, .sensorC = 151.5, .duty = 0.4});
    controller.say(heating());
    const auto value = [&](const char* name) { return place.findChild<QLabel*>(name); };
    ASSERT_TRUE(QTest::qWaitFor([&] { return value("plateValue")->text().contains("151"); }));
    controller.say(test::offNow()); // as the next controller says
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn(); }));
    EXPECT_TRUE(value("plateValue")->text().contains("24"));
    EXPECT_FALSE(value("powerValue")->isEnabled());
    EXPECT_TRUE(card().contains("The run is over")) << card().toStdString();
}

TEST_F(AtThePlate, AnotherWindowsRunIsNotDrawnWithThisPlan)
{
    controller.say(test::offNow());
    Status other = heating();
    other.runKey = "run of another window";
    controller.say(other);
    EXPECT_TRUE(QTest::qWaitFor([&] { return card().contains("started elsewhere"); }))
        << card().toStdString();
}

TEST_F(AtThePlate, ALostControllersValuesAreGreyAndSaySinceWhen)
{
    controller.say(Sample{.seq = 1, .timeS = 10, .profileS = 10, .sensorC = 151.5, .duty = 0.4});
    controller.say(heating());
    const auto value = [&](const char* name) { return place.findChild<QLabel*>(name); };
    ASSERT_TRUE(QTest::qWaitFor([&] { return value("plateValue")->text().contains("151"); }));
    controller.die();
    ASSERT_TRUE(QTest::qWaitFor([&] { return value("plateMore")->text().startsWith("unknown since"); }));
    for (const char* name : {"plateValue", "jointValue", "powerValue"})
        EXPECT_FALSE(value(name)->isEnabled()) << name;
}

TEST_F(AtThePlate, TheLiftCardStaysUntilTheHandsSaySo)
{
    HandCard lift{.id = "lift-strip", .atS = 200, .untilS = 215, .text = "Lift the strip off."};
    const HandCard cool{.id = "cool-down", .atS = 215, .untilS = 900, .text = "Leave it alone."};
    auto lifting = std::make_shared<HeatPlan>(*plan);
    lifting->cards = {lift, cool};
    // The plan of a run is the one it was started with.
    controller.say(Status{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .sensorC = 23.0});
    controller.say(Status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 23.0});
    place.setJob(jobOf(lifting), 0, {}, false);
    ASSERT_TRUE(QTest::qWaitFor([&] { return place.ready(); }));
    place.start();
    Status cooling{.state = RunState::Cooling, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    cooling.profileS = 5000;
    cooling.card = cool.id;
    cooling.strip = StripPlace::LiftNotSaid;
    controller.say(cooling);
    ASSERT_TRUE(QTest::qWaitFor([&] { return card() == "Lift the strip off."; })) << card().toStdString();
    auto* done = place.findChild<QPushButton*>("cardDone");
    EXPECT_EQ(done->text(), "Lifted (Ctrl+Enter)");
    EXPECT_TRUE(place.findChild<QLabel*>("cardAssumed")->text().contains(inWords(StripPlace::LiftNotSaid)));
    done->click();
    EXPECT_TRUE(controller.hears<ConfirmCard>());
    cooling.strip = StripPlace::Lifted;
    controller.say(cooling);
    EXPECT_TRUE(QTest::qWaitFor([&] { return card() == "Leave it alone."; })) << card().toStdString();
}

TEST_F(AtThePlate, ACardThatAsksAboutSolderIsAnsweredByButtonAndKeyOnceItCanBeLiquid)
{
    ASSERT_TRUE(during->asksLiquid);
    const SolderMelts melts = *solderMelts(plan->sheet);
    const int site = siteToWatch(*plan, *during);
    auto* liquid = place.findChild<QPushButton*>("solderLiquid");
    auto* notYet = place.findChild<QPushButton*>("solderNotYet");
    Status cold = heating();
    cold.sensorC = melts.lowC - surelySolidBelowK - 1;
    say(cold);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status()->sensorC == cold.sensorC; }));
    EXPECT_FALSE(liquid->isVisible());
    place.activateWindow();
    QTest::keyClick(&place, Qt::Key_L);

    Status warm = heating();
    warm.sensorC = melts.lowC;
    say(warm);
    ASSERT_TRUE(QTest::qWaitFor([&] { return liquid->isVisible() && notYet->isVisible(); }));
    EXPECT_EQ(liquid->text(), "It is liquid (L)");
    EXPECT_EQ(notYet->text(), "Not yet (N)");
    notYet->click();
    const auto first = controller.heard<SolderMark>();
    ASSERT_TRUE(first);
    EXPECT_FALSE(first->liquid) << "the key pressed while it was cold went nowhere";
    EXPECT_EQ(first->site, site);
    QTest::keyClick(&place, Qt::Key_L);
    const auto second = controller.heard<SolderMark>();
    ASSERT_TRUE(second);
    EXPECT_TRUE(second->liquid);
    QTest::keyClick(&place, Qt::Key_N);
    const auto third = controller.heard<SolderMark>();
    ASSERT_TRUE(third);
    EXPECT_FALSE(third->liquid);
}

TEST_F(AtThePlate, WhatAMarkDidStandsUnderTheEstimateAndOnTheCurves)
{
    const SolderMelts melts = *solderMelts(plan->sheet);
    Sample sample{.seq = 1, .timeS = 148, .profileS = 148, .sensorC = melts.lowC, .expectedC = melts.lowC};
    sample.jointLowC = 130;
    sample.jointNominalC = 138;
    sample.jointHighC = 141;
    controller.say(sample);
    Status warm = heating();
    warm.sensorC = melts.lowC;
    say(warm);
    const MarkedSolder mark{.site = siteToWatch(*plan, *during),
                            .liquid = true,
                            .beforeC = 131,
                            .afterC = 138,
                            .meltsFromC = melts.lowC,
                            .meltsUpToC = melts.highC};
    char text[400];
    writeMarkText(mark, text, sizeof text);
    controller.say(Event{9, 148, markKind, "info", text});
    const auto* more = place.findChild<QLabel*>("jointMore");
    EXPECT_TRUE(QTest::qWaitFor([&] {
        return more->text().contains("138 °C by your mark at 2:28; 131 °C before it");
    })) << more->text().toStdString();
    place.refresh();
    const auto& points = place.findChild<CurveView*>("liveCurves")->points();
    ASSERT_EQ(points.size(), 1u);
    EXPECT_EQ(points[0].timeS, 148);
    EXPECT_EQ(points[0].valueC, 138);
    EXPECT_TRUE(points[0].full);
    EXPECT_FALSE(place.findChild<QPushButton*>("solderLiquid")->isVisible()) << "it was said";
    EXPECT_EQ(place.findChild<QPushButton*>("solderNotYet")->text(), "Not yet after all (N)");
}

TEST_F(AtThePlate, WorkAtASiteIsSaidToBeDoneByButtonAndKeyAndTheNextComes)
{
    auto* done = place.findChild<QPushButton*>("cardDone");
    EXPECT_FALSE(done->isVisible()) << "nothing to do but wait";
    const auto find = [&](const char* id) {
        return std::ranges::find_if(plan->cards, [&](const HandCard& one) { return one.id == id; });
    };
    const auto look = find("see-liquid"), site = find("swap-led-6");
    ASSERT_TRUE(look != plan->cards.end() && site != plan->cards.end());
    Status looking = heating();
    looking.card = look->id;
    looking.profileS = look->atS + 1;
    controller.say(looking);
    ASSERT_TRUE(QTest::qWaitFor([&] { return done->isVisible(); }));
    place.answerCard(); // as its key does
    auto said = controller.heard<ConfirmCard>();
    ASSERT_TRUE(said);
    EXPECT_EQ(said->card, look->id);
    controller.say(Event{20, 150, "card", "info", "done: see-liquid"});
    looking.card.clear(); // it is not up any more, and its time is not over
    controller.say(looking);
    ASSERT_TRUE(QTest::qWaitFor([&] { return card() == QString::fromStdString(site->text); }))
        << card().toStdString();
    ASSERT_TRUE(done->isVisible());
    done->click();
    said = controller.heard<ConfirmCard>();
    ASSERT_TRUE(said);
    EXPECT_EQ(said->card, site->id);
    controller.say(Event{21, 158, "card", "info", "done: swap-led-6"});
    EXPECT_TRUE(QTest::qWaitFor([&] { return !done->isVisible(); }));
    EXPECT_TRUE(place.findChild<QLabel*>("cardAssumed")->text().contains("2:38"));
    place.answerCard();
    EXPECT_FALSE(controller.hears<ConfirmCard>()) << "it was said already";
}

TEST_F(AtThePlate, SaysWhichHeatOfTheJobItIsBeforeAndDuringTheRun)
{
    HeatPlan second = *plan;
    second.heat = second.ofHeats = 2;
    HeatPlan first = second;
    first.heat = 1;
    const auto job = std::make_shared<JobPlan>(JobPlan{plan->sheet, {first, second}});
    controller.say(Status{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .sensorC = 23.0});
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn(); }));
    place.findChild<QPushButton*>("another")->click();
    controller.say(Status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 23.0});
    place.setJob(job, 1, {"", ""}, false);
    const auto* which = place.findChild<QLabel*>("heatOfJob");
    EXPECT_EQ(which->text(), "Heat 2 of 2: swap at site 6");
    EXPECT_TRUE(which->isVisible());
    place.acknowledgeCautions();
    const auto* asked = place.findChild<QLabel*>("outOfOrder");
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status()->state == RunState::Idle; }));
    EXPECT_TRUE(asked->isVisible() && asked->text().contains("Heat 1"));
    EXPECT_FALSE(place.ready());
    place.findChild<QCheckBox*>("anyway")->setChecked(true);
    ASSERT_TRUE(QTest::qWaitFor([&] { return place.ready(); }));
    place.setJob(job, 1, {"2026-03-01T10:00:00Z", ""}, false);
    EXPECT_FALSE(asked->isVisible());
    ASSERT_TRUE(place.ready());
    place.start();
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status()->state == RunState::Running; }));
    place.setJob(job, 0, {"2026-03-01T10:00:00Z", ""}, false); // another one is looked at
    EXPECT_EQ(which->text(), "Heat 2 of 2: swap at site 6");
    EXPECT_TRUE(which->isVisible());
}

TEST_F(AtThePlate, AStartThatIsRefusedIsReadiedAgain)
{
    controller.say(Status{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .sensorC = 23.0});
    controller.say(Status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 23.0});
    ASSERT_TRUE(QTest::qWaitFor([&] { return place.ready(); }));
    place.start();
    const auto* start = place.findChild<QPushButton*>("start");
    ASSERT_FALSE(start->isVisible());
    ASSERT_TRUE(controller.hears<StartRun>());
    controller.say(Refused{"the plan is not runnable", wireName(StartRun{})});
    EXPECT_TRUE(QTest::qWaitFor([&] { return start->isVisible(); }));
}

TEST_F(AtThePlate, APathThatHasEndedIsNotShownAsIfItWentOn)
{
    Sample sample{.seq = 1, .timeS = 500, .profileS = 420, .sensorC = 61.5, .expectedC = 77.3};
    controller.say(sample);
    controller.say(heating());
    const auto* more = place.findChild<QLabel*>("plateMore");
    ASSERT_TRUE(QTest::qWaitFor([&] { return more->text() == "path 77.3 °C"; }))
        << more->text().toStdString();
    Status waiting{.state = RunState::Cooling, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    waiting.sensorC = 61.5;
    waiting.profileS = waiting.endS = plan->heaterOffS + 60;
    controller.say(waiting);
    EXPECT_TRUE(QTest::qWaitFor([&] {
        return more->text() == "path over; waits until the plate is below 45 °C";
    })) << more->text().toStdString();
}

TEST_F(AtThePlate, CardAndFootSayTheSameTimeToTheEndOfCooling)
{
    BaseLine foot(run);
    const auto* toGo = foot.findChild<QLabel*>("clockMore");
    const auto shown = [&](const QString& text) {
        return std::ranges::any_of(place.findChildren<QLabel*>(), [&](const QLabel* label) {
            return label->isVisible() && label->text() == text;
        });
    };
    const double pathEndS = plan->timeS.back(), coolS = plan->stages.back().endS;
    ASSERT_GT(coolS, pathEndS + 60);
    Status cooling{.state = RunState::Cooling, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    cooling.card = "cool-down";
    cooling.sensorC = 61.5;
    cooling.endS = pathEndS;
    const auto leftAt = [&](double timeS, double lateS) {
        cooling.timeS = timeS;
        cooling.profileS = std::min(timeS - lateS, pathEndS);
        controller.say(Sample{.seq = long(timeS), .timeS = timeS, .profileS = cooling.profileS});
        controller.say(cooling);
        EXPECT_TRUE(QTest::qWaitFor([&] { return run.status()->timeS == timeS; }));
        return coolS + lateS - timeS;
    };
    for (const double timeS : {pathEndS - 100, pathEndS + 7, pathEndS + 50}) { // the last two past its end
        const QString left = clockText(leftAt(timeS, 7));
        EXPECT_TRUE(shown(left)) << timeS << " " << left.toStdString();
        EXPECT_TRUE(toGo->text().endsWith(", " + left + " to go")) << toGo->text().toStdString();
    }
    leftAt(coolS + 20, 7);
    EXPECT_FALSE(shown("0:00"));
    EXPECT_FALSE(shown("left"));
    EXPECT_EQ(toGo->text(), "path over; waits until the plate is below 45 °C");
}

TEST_F(AtThePlate, WorkThatPassedWithoutAWordStaysNamed)
{
    const auto* line = place.findChild<QLabel*>("cardAssumed");
    const auto site = std::ranges::find(plan->cards, "swap-led-6", &HandCard::id);
    ASSERT_TRUE(site != plan->cards.end());
    for (const HandCard& card : plan->cards)
        if (card.id == "see-liquid" || card.id == site->id)
            controller.say(Event{20, 100, "card", "info", card.text});
    Status later = heating();
    later.profileS = site->untilS + 1;
    later.card = "hold-still";
    controller.say(later);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status()->card == "hold-still"; }));
    EXPECT_TRUE(line->isVisible());
    EXPECT_EQ(line->text(), "▲ Not confirmed: solder seen liquid, LED set down at site 6.");
    auto* done = place.findChild<QPushButton*>("cardDone");
    EXPECT_TRUE(done->isVisible() && done->text().startsWith("Site 6 done after all")) << "said late is said";
    QTest::mouseClick(done, Qt::LeftButton);
    const auto confirmed = controller.heard<ConfirmCard>();
    ASSERT_TRUE(confirmed);
    EXPECT_EQ(confirmed->card, site->id);
    int said = 0;
    QObject::connect(place.findChild<HandCardView*>(), &HandCardView::done, &place, [&] { ++said; });
    QTest::mouseClick(done, Qt::LeftButton);
    place.answerCard();
    EXPECT_EQ(said, 0) << "a second press answers for nothing else";
    later.state = RunState::Cooling;
    later.profileS = plan->stages.back().endS - 1;
    controller.say(later);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status()->state == RunState::Cooling; }));
    EXPECT_TRUE(line->isVisible()) << "for the rest of the heat";
    controller.say(Event{22, 170, "card", "info", "done: swap-led-6"});
    EXPECT_TRUE(QTest::qWaitFor([&] { return !line->isVisible(); })) << line->text().toStdString();
}

TEST_F(AtThePlate, KeysAnswerWhateverWasClickedLast)
{
    const SolderMelts melts = *solderMelts(plan->sheet);
    const auto look = std::ranges::find(plan->cards, "see-liquid", &HandCard::id);
    ASSERT_TRUE(look != plan->cards.end());
    Status warm = heating();
    warm.card = look->id;
    warm.profileS = look->atS + 1;
    warm.sensorC = melts.lowC;
    controller.say(warm);
    auto* done = place.findChild<QPushButton*>("cardDone");
    auto* note = place.findChild<QLineEdit*>("note");
    ASSERT_TRUE(note);
    ASSERT_TRUE(QTest::qWaitFor([&] { return done->isVisible(); }));
    place.activateWindow();
    ASSERT_TRUE(QTest::qWaitForWindowActive(&place));
    const auto keyAnswers = [&](Qt::Key key, Qt::KeyboardModifiers with, const char* when) {
        QWidget* const has = QApplication::focusWidget();
        QTest::keyClick(has ? has : &place, key, with);
        EXPECT_TRUE(controller.hears<SolderMark>()) << when;
    };
    QTest::mouseClick(done, Qt::LeftButton);
    ASSERT_TRUE(controller.hears<ConfirmCard>());
    controller.say(Event{20, 150, "card", "info", "done: see-liquid"});
    warm.card = "swap-led-6";
    controller.say(warm);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.status()->card == "swap-led-6"; }));
    keyAnswers(Qt::Key_N, Qt::NoModifier, "Done was clicked and is there again");

    done->setFocus(Qt::TabFocusReason);
    controller.say(warm);
    QTest::qWait(20);
    EXPECT_TRUE(done->hasFocus()) << "what a status redraws keeps the keys";
    controller.say(Event{21, 158, "card", "info", "done: swap-led-6"});
    ASSERT_TRUE(QTest::qWaitFor([&] { return !done->isVisible(); }));
    keyAnswers(Qt::Key_N, Qt::NoModifier, "Done had the keys and went");

    for (const char* list : {"eventLog", "marginLadder", "liveCurves"}) {
        QTest::mouseClick(place.findChild<QAbstractScrollArea*>(list)->viewport(), Qt::LeftButton);
        keyAnswers(Qt::Key_N, Qt::NoModifier, list);
    }
    QTest::mouseClick(note, Qt::LeftButton);
    keyAnswers(Qt::Key_N, Qt::ControlModifier, "with a note begun");
    QTest::keyClicks(note, "nl");
    EXPECT_EQ(note->text(), "nl");
    QTest::keyClick(note, Qt::Key_Return);
    keyAnswers(Qt::Key_N, Qt::NoModifier, "a note was ended");
}

TEST_F(AtThePlate, AJointAboveTheReadingOfAPlateThatWarmsIsExplained)
{
    const auto* more = place.findChild<QLabel*>("jointMore");
    for (int i = 0; i <= 10; ++i) {
        Sample sample{.seq = i + 1, .timeS = double(i), .profileS = double(i), .sensorC = 100.0 + i};
        sample.jointLowC = 108;
        sample.jointNominalC = 112;
        sample.jointHighC = 115;
        controller.say(sample);
    }
    controller.say(heating());
    EXPECT_TRUE(QTest::qWaitFor([&] { return more->text().contains("above the reading: the sensor lags"); }))
        << more->text().toStdString();
    Sample still{.seq = 12, .timeS = 17, .profileS = 17, .sensorC = 110};
    still.jointNominalC = 109;
    controller.say(still);
    controller.say(heating());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !more->text().contains("lags"); }));
}

TEST_F(AtThePlate, ACardWhoseTimeStandsStillSaysSo)
{
    const auto said = [&](const char* text) {
        return std::ranges::any_of(place.findChildren<QLabel*>(), [&](const QLabel* label) {
            return label->isVisible() && label->text().contains(text);
        });
    };
    EXPECT_FALSE(said("the plan waits"));
    Status holding = heating();
    holding.state = RunState::Holding;
    say(holding);
    EXPECT_TRUE(QTest::qWaitFor([&] { return said("left; the plan waits"); }));
}

TEST_F(AtThePlate, AFanThatTheLinkDoesNotSwitchIsToldBeforeTheHeatAndWhenItIsDue)
{
    ASSERT_TRUE(plan->sheet.cooling.fan);
    const auto* before = place.findChild<QLabel*>("fanByHand");
    const auto* due = place.findChild<QLabel*>("cardAssumed");
    place.setPlateText("Bench plate answers.", false);
    RunningController real;
    real.plateLink = "/bench.plate.json";
    real.socket = controller.socketPath().toStdString();
    controller.say(Status{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .sensorC = 23.0});
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn(); }));
    ASSERT_TRUE(run.attach(real));
    controller.takeConnections();
    place.findChild<QPushButton*>("another")->click();
    controller.say(Status{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 23.0});
    ASSERT_TRUE(QTest::qWaitFor([&] { return before->isVisible(); }));
    EXPECT_TRUE(before->text().contains(QString::fromStdString(clockInWords(plan->heaterOffS)) + " after"))
        << before->text().toStdString();
    place.acknowledgeCautions();
    ASSERT_TRUE(QTest::qWaitFor([&] { return place.ready(); })) << "it keeps nothing from starting";
    place.start();
    say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return card() == QString::fromStdString(during->text); }));
    EXPECT_FALSE(due->text().contains("fan"));
    Status cooling{.state = RunState::Cooling, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
    cooling.sensorC = 150;
    cooling.profileS = plan->heaterOffS + 2;
    cooling.endS = plan->heaterOffS + 300;
    controller.say(cooling);
    EXPECT_TRUE(
        QTest::qWaitFor([&] { return due->isVisible() && due->text().contains("fan: switch it on"); }));
    place.setPlateText("Bench plate answers.", true);
    controller.say(cooling);
    EXPECT_TRUE(QTest::qWaitFor([&] { return !due->text().contains("fan") || !due->isVisible(); }));
}

TEST_F(AtThePlate, APlateThatIsNotAsPlannedIsSaidBeforeTheHeatWithBothFigures)
{
    const auto* differs = place.findChild<QLabel*>("notAsPlanned");
    ConnectedPlate plate;
    plate.learnt = plan->sheet.plate;
    place.setPlateText("Bench plate answers.", true, plate);
    RunningController real;
    real.plateLink = "/bench.plate.json";
    real.socket = controller.socketPath().toStdString();
    const Status cold{.heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 23.0};
    controller.say(Status{.state = RunState::Ended, .heater = HeaterState::OffConfirmed, .sensorC = 23.0});
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn(); }));
    ASSERT_TRUE(run.attach(real));
    controller.takeConnections();
    place.findChild<QPushButton*>("another")->click();
    controller.say(cold);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.live(); }));
    plate.fanLearnt = true;
    place.setPlateText("Bench plate answers.", true, plate);
    place.refresh();
    EXPECT_FALSE(differs->isVisible()) << differs->text().toStdString();
    plate.learnt->heatCapacityJPerK *= 1.15;
    place.setPlateText("Bench plate answers.", true, plate);
    place.refresh();
    EXPECT_TRUE(differs->isVisible());
    EXPECT_TRUE(differs->text().contains("J/K (+15 %)")) << differs->text().toStdString();
    EXPECT_TRUE(differs->text().contains(QString::fromStdString(plan->sheet.plate.id)));
    place.acknowledgeCautions();
    EXPECT_TRUE(QTest::qWaitFor([&] { return place.ready(); }))
        << "the controller refuses what is too far off";
}

TEST_F(AtThePlate, WhatTheHandsDoNextIsOneCard)
{
    Status between = heating();
    between.profileS = 0;
    controller.say(between);
    EXPECT_TRUE(QTest::qWaitFor([&] { return card() != QString::fromStdString(during->text); }));
    EXPECT_FALSE(card().isEmpty());
}

} // namespace stripwright
