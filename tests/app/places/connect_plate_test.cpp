#include "at_the_plate/connect_plate.h"

#include "widgets/stop_button.h"

#include <QCheckBox>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QScreen>
#include <QTableWidget>
#include <QTemporaryDir>
#include <QTest>
#include <fstream>
#include <gtest/gtest.h>

namespace stripwright {

using nlohmann::json;

// Stands where the controller's program is looked for: a shell script that says what a test wants.
struct Connecting : testing::Test {
    void controllerIs(const std::string& script)
    {
        const auto file = std::filesystem::path(folder.path().toStdString()) / "stripwright-controller";
        std::ofstream(file) << "#!/bin/sh\n" << script << "\n";
        std::filesystem::permissions(file, std::filesystem::perms::owner_all);
        dialog = std::make_unique<ConnectPlate>(folder.path().toStdString(), folder.path().toStdString(),
                                                folder.path().toStdString() + "/shelf");
        QObject::connect(dialog.get(), &ConnectPlate::leftHot,
                         [this](const QString& words) { left += words; });
        dialog->show();
    }
    void prove()
    {
        json draft = json::object();
        ASSERT_TRUE(dialog->connector().prove(draft, {}));
    }
    template <class Kind> Kind* find(const char* name) { return dialog->findChild<Kind*>(name); }

    QTemporaryDir folder;
    std::unique_ptr<ConnectPlate> dialog;
    QStringList left;
};

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
    controllerIs("trap 'echo \"{\\\"heater_off\\\": true}\"; exit 6' TERM; echo started; while :; do sleep "
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

TEST_F(Connecting, LearningHandsOnPowerSizeAndShelfAndRefusesASizeThatIsNone)
{
    controllerIs("case $1 in connect) echo '{\"heater_off\":true,\"link\":{\"name\":\"x\"}}';; *) "
                 "echo \"$@\" > $(dirname $0)/said; echo '{\"heater_off\":true}';; esac");
    prove();
    const auto idle = [&] { return dialog->connector().job() == PlateConnector::Job::None; };
    ASSERT_TRUE(QTest::qWaitFor(idle));
    find<QCheckBox>("bare")->setChecked(true);
    find<QLineEdit>("size")->setText("100 by 100");
    find<QPushButton>("learn")->click();
    EXPECT_TRUE(idle());
    auto* notes = find<QListWidget>("notes");
    EXPECT_TRUE(notes->item(notes->count() - 1)->text().contains("such as 100x100x8"));
    find<QLineEdit>("size")->setText("120 x 100 x 8");
    find<QPushButton>("learn")->click();
    ASSERT_TRUE(QTest::qWaitFor(idle));
    std::ifstream file(folder.path().toStdString() + "/said");
    std::string said;
    std::getline(file, said);
    EXPECT_NE(said.find("--power 300"), std::string::npos) << said;
    EXPECT_NE(said.find("--shelf " + folder.path().toStdString() + "/shelf"), std::string::npos) << said;
    EXPECT_NE(said.find("--size 120 x 100 x 8"), std::string::npos) << said;
}

} // namespace stripwright
