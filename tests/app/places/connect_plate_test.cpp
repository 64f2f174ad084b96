#include "connecting.h"

namespace stripwright {

TEST_F(Connecting, FitsTheScreenWithItsStop)
{
    controllerIs("exit 0");
    const QSize least = dialog->minimumSizeHint(), screen = dialog->screen()->availableSize();
    EXPECT_LE(least.height(), 720 - 30);
    EXPECT_LE(least.width(), 1100 - 10);
    EXPECT_LT(dialog->height(), screen.height());
}

TEST_F(Connecting, LinesOfAnyShapeAreTakenWithoutHarm)
{
    controllerIs("exit 0");
    const json hostile[] = {
        json::object(),
        {{"kind", nullptr}},
        {{"kind", 7}, {"plate_C", "hot"}},
        {{"plate_C", nullptr}, {"duty", json::array()}, {"step", 3}},
        {{"kind", "candidates"}},
        {{"kind", "candidates"}, {"list", 5}},
        {{"kind", "candidates"},
         {"list", {1, nullptr, {{"sensible", "yes"}, {"scale", "big"}, {"moved_K", {}}}}}},
        {{"kind", "device"}, {"unit", "one"}, {"says", nullptr}},
        {{"kind", "proof"}, {"ok", nullptr}, {"what", 1}},
        {{"kind", "step"}, {"text", {{"deep", 1}}}},
        {{"learnt", nullptr}},
        {{"learnt", 12}},
        {{"learnt", {{"heat_capacity_J_per_K", "much"}, {"element_lag_s", nullptr}}}},
        json::array({1, 2}),
        json("text"),
        json(),
    };
    for (const json& line : hostile)
        EXPECT_NO_THROW(emit dialog->connector().lineCame(line)) << line.dump();
}

TEST_F(Connecting, AValueThatIsNoNumberIsNotShownAsZero)
{
    controllerIs("exit 0");
    emit dialog->connector().lineCame({{"plate_C", nullptr}, {"duty", 0.25}, {"step", "rising"}});
    EXPECT_TRUE(find<QLabel>("now")->text().startsWith("– °C, 25 %"))
        << find<QLabel>("now")->text().toStdString();
}

TEST_F(Connecting, StandsBesideTheWindowNeverInFrontOfIt)
{
    controllerIs("exit 0");
    EXPECT_FALSE(dialog->isModal());
}

TEST_F(Connecting, ItsStopIsTheOneOfTheWindow)
{
    controllerIs("exit 0");
    auto* stop = find<StopButton>("stop");
    ASSERT_TRUE(stop);
    EXPECT_TRUE(stop->isVisible() && stop->isEnabled());
    EXPECT_EQ(stop->text(), StopButton().text());
    const double pixelsPerMm = std::max(stop->screen()->physicalDotsPerInch(), 72.0) / 25.4;
    EXPECT_GE(stop->height(), int(25 * pixelsPerMm));
    EXPECT_GE(stop->width(), int(36 * pixelsPerMm));
}

TEST_F(Connecting, EscStopsWhatHeatsAndTheDialogStays)
{
    controllerIs(
        "trap 'sleep 0.3; echo \"{\\\"heater_off\\\": true}\"; exit 6' TERM; echo started; while :; do sleep "
        "0.05; done");
    prove();
    QTest::qWait(300); // for the shell to have set its trap
    QTest::keyClick(dialog->windowHandle(), Qt::Key_Escape);
    EXPECT_EQ(dialog->connector().heater(), PlateConnector::Heater::OffSent);
    EXPECT_TRUE(QTest::qWaitFor([&] { return dialog->connector().job() == PlateConnector::Job::None; }));
    EXPECT_EQ(dialog->connector().heater(), PlateConnector::Heater::OffConfirmed);
    EXPECT_TRUE(dialog->isVisible());
    QTest::keyClick(dialog.get(), Qt::Key_Escape);
    EXPECT_FALSE(dialog->isVisible());
    EXPECT_TRUE(left.isEmpty());
}

TEST_F(Connecting, ClosedWhileItHeatsStaysUntilTheEnd)
{
    controllerIs("trap 'echo \"{\\\"heater_off\\\": true}\"; exit 6' TERM; echo started; while :; do sleep "
                 "0.05; done");
    prove();
    QTest::qWait(300); // for the shell to have set its trap
    dialog->close();
    dialog->close(); // it has asked
    EXPECT_TRUE(dialog->isVisible());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !dialog->isVisible(); }));
    EXPECT_EQ(dialog->connector().heater(), PlateConnector::Heater::OffConfirmed);
}

TEST_F(Connecting, ClosedWhileItReadsStaysUntilTheLineIsFree)
{
    controllerIs("trap 'sleep 0.3; exit 6' TERM; echo started; while :; do sleep 0.05; done");
    ASSERT_TRUE(dialog->connector().read(json::object(), {}));
    QTest::qWait(300); // for the shell to have set its trap
    dialog->close();
    EXPECT_TRUE(dialog->isVisible());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !dialog->isVisible(); }));
    EXPECT_EQ(dialog->connector().job(), PlateConnector::Job::None);
}

TEST_F(Connecting, AHeaterNotReadBackOffIsToldToWhoeverStaysBehind)
{
    controllerIs("echo '{\"heater_off\": false}'; exit 1");
    prove();
    ASSERT_TRUE(QTest::qWaitFor([&] { return dialog->connector().job() == PlateConnector::Job::None; }));
    EXPECT_TRUE(find<QLabel>("heater")->text().contains("NOT confirmed"));
    dialog->close();
    ASSERT_EQ(left.size(), 1);
    EXPECT_TRUE(left[0].contains("NOT confirmed") && left[0].contains("mains plug")) << left[0].toStdString();
}

TEST_F(Connecting, HeatOfALoopThatTellsNoneIsNotShownAsRead)
{
    controllerIs("exit 0");
    emit dialog->connector().lineCame({{"kind", "news"}, {"plate_C", 24.8}, {"duty", nullptr}});
    EXPECT_EQ(find<QLabel>("now")->text(), "24.8 °C, heat not known yet");
    emit dialog->connector().lineCame({{"kind", "news"}, {"plate_C", 24.8}, {"duty", 0.1}});
    EXPECT_EQ(find<QLabel>("now")->text(), "24.8 °C, 10 % heat");
}

TEST_F(Connecting, FoundDeviceIsShownWithBothKindsOfItsRegisters)
{
    controllerIs("exit 0");
    emit dialog->connector().lineCame(
        {{"kind", "device"},
         {"unit", 5},
         {"says", "answers"},
         {"registers",
          {{"input", {223, 0}}, {"input_from", 0}, {"holding", {250, 30}}, {"holding_from", 1}}}});
    auto* notes = find<QListWidget>("notes");
    EXPECT_EQ(notes->item(0)->text(),
              "Unit 5 answers. Input registers from 0 on: 223 0; holding registers from 1 on: 250 30");
}

TEST_F(Connecting, NothingElseIsDoneUntilAHeaterNotConfirmedIsTurnedOff)
{
    controllerIs("echo '{\"heater_off\": false}'; exit 1");
    sayPlate();
    proveByButton();
    for (const char* button : {"find", "read", "prove", "learn"})
        EXPECT_FALSE(find<QPushButton>(button)->isEnabled()) << button;
    EXPECT_NE(needs().find("First turn it off"), std::string::npos) << needs();
    find<QLineEdit>("name")->setText("South bench"); // changes nothing in which plate may be hot
    dialog->close();
    ASSERT_EQ(left.size(), 1);
    EXPECT_TRUE(left[0].startsWith("North bench: ")) << left[0].toStdString();
}

TEST_F(Connecting, AHeaterNotConfirmedStandsInTheLookOfAnAlarm)
{
    controllerIs("echo '{\"heater_off\": false}'; exit 1");
    prove();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    EXPECT_TRUE(find<QLabel>("heater")->text().contains("NOT confirmed"));
    EXPECT_EQ(find<QLabel>("heater")->property("tone").toString(), "abnormal");
}

} // namespace stripwright
