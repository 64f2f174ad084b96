#include "connecting.h"

namespace stripwright {

TEST_F(Connecting, ClosedWhileItsHeatIsLearntItAsksFirst)
{
    learning(rises);
    dialog->close();
    QTest::qWait(300);
    EXPECT_TRUE(dialog->isVisible());
    EXPECT_EQ(dialog->connector().heater(), PlateConnector::Heater::MayBeOn);
    ASSERT_TRUE(find<QLabel>("closing"));
    EXPECT_TRUE(find<QLabel>("closing")->text().contains("Close once more"))
        << find<QLabel>("closing")->text().toStdString();
    dialog->close();
    EXPECT_TRUE(QTest::qWaitFor([&] { return !dialog->isVisible(); }));
    EXPECT_EQ(dialog->connector().heater(), PlateConnector::Heater::OffConfirmed);
}

TEST_F(Connecting, WhileItOnlyCoolsItSaysSoAndAsksBeforeItCloses)
{
    learning(cools);
    EXPECT_EQ(find<QLabel>("heater")->text(),
              "Heater off, read back: watched while it cools; what was learnt is kept");
    EXPECT_TRUE(find<StopButton>("stop")->styleSheet().isEmpty());
    auto* end = find<QPushButton>("endWatching");
    ASSERT_TRUE(end && end->isVisible());
    EXPECT_EQ(end->text(), "End watching");
    dialog->close();
    QTest::qWait(300);
    EXPECT_TRUE(dialog->isVisible());
    ASSERT_FALSE(idle());
    EXPECT_TRUE(find<QLabel>("closing")->text().contains("what was learnt is kept"))
        << find<QLabel>("closing")->text().toStdString();
    end->click();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    EXPECT_TRUE(dialog->isVisible() && find<QLabel>("closing")->isHidden() && end->isHidden());
}

TEST_F(Connecting, HeatThatComesBackWhileItCoolsIsShownAsHeat)
{
    learning(cools + "\n" + rises);
    EXPECT_TRUE(QTest::qWaitFor([this] { return find<QLabel>("now")->text().startsWith("30.1"); }));
    EXPECT_EQ(find<QLabel>("heater")->text(), "Heat may be on");
    EXPECT_FALSE(find<StopButton>("stop")->styleSheet().isEmpty());
}

TEST_F(Connecting, PlateThatWentOntoTheShelfIsSaidAndTheShelfIsReadAgain)
{
    controllerIs("exit 0");
    int changes = 0;
    QObject::connect(dialog.get(), &ConnectPlate::shelfChanged, [&] { ++changes; });
    auto* notes = find<QListWidget>("notes");
    emit dialog->connector().lineCame({{"shelf_problem", "not put onto your shelf: disk full"}});
    EXPECT_TRUE(notes->item(notes->count() - 1)->text().contains("disk full"));
    EXPECT_EQ(changes, 0);
    emit dialog->connector().lineCame(
        {{"shelf_id", "n-measured"}, {"shelf_name", "North, measured"}, {"shelf_problem", nullptr}});
    EXPECT_TRUE(notes->item(notes->count() - 1)->text().contains("North, measured"));
    EXPECT_EQ(changes, 1);
    emit dialog->connector().lineCame(
        {{"shelf_name", "North, measured"}, {"shelf_problem", nullptr}, {"shelf_warning", "another plate"}});
    EXPECT_EQ(notes->item(notes->count() - 1)->text(), "⚠ But another plate");
}

TEST_F(Connecting, WhatWasLearntIsSaidWithItsUncertaintyAndWithWhatHasChanged)
{
    controllerIs("exit 0");
    emit dialog->connector().lineCame({{"learnt",
                                        {{"heat_capacity_J_per_K", 243.2},
                                         {"heat_capacity_error_share", 0.0002},
                                         {"loss_error_share", 0.031},
                                         {"safe_to_touch_s", 660},
                                         {"safe_to_touch_with_fan_s", 240},
                                         {"changes", {"heat capacity 243, was 194: +25 %"}}}}});
    auto* notes = find<QListWidget>("notes");
    ASSERT_EQ(notes->count(), 3);
    EXPECT_TRUE(notes->item(0)->text().startsWith("Learnt: 243 J/K ± 1 %, – W ± 4 %"))
        << notes->item(0)->text().toStdString();
    EXPECT_TRUE(notes->item(1)->text().contains("11 min, with the fan after 4 min"));
    EXPECT_TRUE(notes->item(2)->text().contains("was 194"));
}

TEST_F(Connecting, OfWhatWasLearntTheOwnLoopAndADoubtedPowerAreSaid)
{
    controllerIs("exit 0");
    emit dialog->connector().lineCame({{"learnt",
                                        {{"power_question", "Is 300 W what its heater takes?"},
                                         {"own_loop",
                                          {{"gain_per_K", 0.05},
                                           {"gain_error_share", 0.041},
                                           {"integral_s", 40.2},
                                           {"integral_error_share", 0.03}}}}}});
    auto* notes = find<QListWidget>("notes");
    ASSERT_EQ(notes->count(), 3);
    EXPECT_EQ(notes->item(1)->text(), "Its own loop: 5.0 % of full heat per K ± 5 %, integral 40 s ± 3 %");
    EXPECT_TRUE(notes->item(2)->text().startsWith("⚠ Is 300 W what its heater takes?"))
        << notes->item(2)->text().toStdString();
}

TEST_F(Connecting, LearningHandsOnPowerSizeAndShelf)
{
    connected({{"name", "x"}});
    find<QLineEdit>("plateMax")->setText("150"); // changes nothing that was proven
    EXPECT_FALSE(find<QPushButton>("learn")->isEnabled());
    find<QLineEdit>("power")->setText("450 W");
    find<QLineEdit>("size")->setText("120 x 100 x 8");
    ASSERT_TRUE(find<QPushButton>("learn")->isEnabled()) << find<QLabel>("needs")->text().toStdString();
    find<QPushButton>("learn")->click();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    const std::string said = textOf("said");
    EXPECT_NE(said.find("--power 450"), std::string::npos) << said;
    EXPECT_NE(said.find("--top 130"), std::string::npos) << said;
    EXPECT_NE(said.find("--shelf " + folder.path().toStdString() + "/shelf"), std::string::npos) << said;
    EXPECT_NE(said.find("--size 120 x 100 x 8"), std::string::npos) << said;
}

TEST_F(Connecting, LearningSaysWhatItStillNeedsAndTakesNoPowerForGranted)
{
    controllerIs("exit 0");
    auto* needs = find<QLabel>("needs");
    EXPECT_TRUE(find<QLineEdit>("power")->text().isEmpty());
    for (const char* missing : {"warmed and proven", "power of its heater", "its size", "bare"})
        EXPECT_TRUE(needs->text().contains(missing)) << missing;
    EXPECT_EQ(find<QPushButton>("learn")->toolTip(), needs->text());
    connected({{"name", "x"}});
    needs = find<QLabel>("needs");
    find<QLineEdit>("power")->setText("3 W");
    EXPECT_TRUE(needs->text().contains("5 to 20000 W")) << needs->text().toStdString();
    find<QLineEdit>("power")->setText("300");
    EXPECT_TRUE(needs->text().contains("or that it is not known")) << needs->text().toStdString();
    find<QCheckBox>("sizeNotKnown")->setChecked(true);
    ASSERT_TRUE(find<QPushButton>("learn")->isEnabled());
    find<QPushButton>("learn")->click();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    EXPECT_EQ(textOf("said").find("--size"), std::string::npos);
    find<QSpinBox>("port")->setValue(503);
    EXPECT_TRUE(needs->text().contains("proven again")) << needs->text().toStdString();
    EXPECT_FALSE(find<QPushButton>("learn")->isEnabled() || find<QPushButton>("save")->isEnabled());
    find<QSpinBox>("port")->setValue(502);
    EXPECT_TRUE(find<QPushButton>("save")->isEnabled());
}

TEST_F(Connecting, PlateThatMaySitAtItsTopIsSaidBeforeItsHeatIsLearnt)
{
    json link = {{"drive", "setpoint"},
                 {"registers", {{"setpoint_C", {{"table", "holding"}, {"address", 1}}}}}};
    connected(link);
    auto* goesOn = find<QLabel>("goesOn");
    ASSERT_TRUE(goesOn->isVisible());
    for (const char* words : {"computer dies", "180 °C and stay there", "plug"})
        EXPECT_TRUE(goesOn->text().contains(words)) << goesOn->text().toStdString();
    link["watchdog_proven_s"] = 4.4;
    link["registers"]["watchdog_s"] = {{"table", "holding"}, {"address", 9}};
    connected(link);
    EXPECT_FALSE(find<QLabel>("goesOn")->isVisible());
}

TEST_F(Connecting, PlateDrivenByItsDutyThatNobodyHasSeenCutIsSaidToGoOnAtItsLastDuty)
{
    connected({{"drive", "duty"}, {"registers", {{"duty", {{"table", "holding"}, {"address", 1}}}}}});
    auto* goesOn = find<QLabel>("goesOn");
    ASSERT_TRUE(goesOn->isVisible());
    for (const char* words : {"computer dies", "last duty", "plug"})
        EXPECT_TRUE(goesOn->text().contains(words)) << goesOn->text().toStdString();
}

TEST_F(Connecting, IsNotSavedWhileItsHeatIsLearnt)
{
    connected({{"name", "x"}},
              "[ $1 = tune ] && { trap 'echo \"{\\\"heater_off\\\":true}\"; exit 6' TERM; echo "
              "'{\"kind\":\"step\"}'; while :; do sleep 0.05; done; }\n");
    sayWhatIsLearnt();
    find<QPushButton>("save")->click();
    bool warm = false;
    QObject::connect(&dialog->connector(), &PlateConnector::lineCame, dialog.get(), [&] { warm = true; });
    find<QPushButton>("learn")->click();
    ASSERT_TRUE(QTest::qWaitFor([&] { return warm; }));
    emit dialog->findChild<QFileDialog*>()->fileSelected(folder.filePath("bench.plate.json"));
    EXPECT_FALSE(stands("bench.plate.json"));
    EXPECT_TRUE(dialog->isVisible());
    EXPECT_TRUE(left.isEmpty());
    dialog->stop();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
}

TEST_F(Connecting, AFigureThatIsNoNewsSaysHowOldItIs)
{
    controllerIs("exit 0");
    const json line = {{"step", "over"}, {"time_s", 12.5}, {"plate_C", 130.3}, {"duty", nullptr}};
    emit dialog->connector().lineCame(line);
    auto* now = find<QLabel>("now");
    EXPECT_EQ(now->text(), "130.3 °C, heat not known yet · the heating is over");
    QTest::qWait(1000);
    emit dialog->connector().lineCame(line); // of a line that is silent the last reading is said again
    emit dialog->connector().lineCame({{"kind", "news"}, {"plate_C", nullptr}, {"duty", nullptr}});
    QTest::qWait(1600);
    EXPECT_TRUE(now->text() == "130.3 °C, 2 s ago" || now->text() == "130.3 °C, 3 s ago")
        << now->text().toStdString();
    emit dialog->connector().lineCame({{"step", "rising"}, {"time_s", 15}, {"plate_C", 131}, {"duty", 0.5}});
    EXPECT_EQ(now->text(), "131.0 °C, 50 % heat · rising");
}

TEST_F(Connecting, CoolingOfWhichNothingWasReadYetIsNoColdPlate)
{
    controllerIs("exit 0");
    emit dialog->connector().lineCame({{"step", "over"}, {"time_s", 12}, {"plate_C", 130.3}, {"duty", 0.5}});
    emit dialog->connector().lineCame({{"step", "cooling"}, {"time_s", 0}, {"plate_C", 0}, {"duty", 0}});
    EXPECT_TRUE(find<QLabel>("now")->text().startsWith("130.3 °C"))
        << find<QLabel>("now")->text().toStdString();
    EXPECT_TRUE(dialog->warmWords().contains("last read 130 °C")) << dialog->warmWords().toStdString();
}

} // namespace stripwright
