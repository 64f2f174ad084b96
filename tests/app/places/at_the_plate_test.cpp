#include "at_the_plate/at_the_plate_place.h"

#include "demo_sheet.h"
#include "fake_controller.h"
#include "planner/plan_sheet.h"

#include <QLabel>
#include <gtest/gtest.h>

namespace stripwright {

using test::FakeController;
using test::heating;

struct AtThePlate : testing::Test {
    AtThePlate() : place(run), controller(run)
    {
        HeatPlan heat = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
        for (const HandCard& card : heat.cards)
            if (card.atS >= 0 && !during)
                during = card;
        EXPECT_TRUE(during);
        plan = std::make_shared<HeatPlan>(std::move(heat));
        place.setPlan(plan, false);
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
    QString card() { return place.findChild<QLabel*>("handCardText")->text(); }

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

TEST_F(AtThePlate, ALostControllerTakesThePlansCardAway)
{
    controller.die();
    EXPECT_TRUE(QTest::qWaitFor([&] { return card().contains("at the mains"); })) << card().toStdString();
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
