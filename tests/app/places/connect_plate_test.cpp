#include "at_the_plate/connect_plate.h"

#include "widgets/figure_field.h"
#include "widgets/stop_button.h"

#include <QCheckBox>
#include <QComboBox>
#include <QFile>
#include <QFileDialog>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QScreen>
#include <QSpinBox>
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
    /// What a plate is proven to be; its line is the one that sayPlate() types.
    void provesToBe(json link)
    {
        link["host"] = "192.0.2.1";
        std::ofstream(folder.filePath("link").toStdString()) << link.dump();
    }
    void sayPlate()
    {
        find<QLineEdit>("name")->setText("North bench");
        find<QLineEdit>("host")->setText("192.0.2.1");
        find<QCheckBox>("bare")->setChecked(true);
    }
    void proveByButton()
    {
        find<QPushButton>("prove")->click();
        ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    }
    /// A dialog whose plate was proven by its button to be this link.
    void connected(const json& link, const std::string& first = "")
    {
        provesToBe(link);
        controllerIs(first + standIn);
        sayPlate();
        proveByButton();
    }
    void sayWhatIsLearnt()
    {
        find<QLineEdit>("power")->setText("300 W");
        find<QLineEdit>("size")->setText("100x100x8");
    }
    void saveAs(const QString& file)
    {
        find<QPushButton>("save")->click();
        auto* question = dialog->findChild<QFileDialog*>();
        ASSERT_TRUE(question);
        emit question->fileSelected(folder.filePath(file));
    }
    /// Its heat is being learnt by a program that has said these lines.
    void learning(const std::string& lines)
    {
        connected({{"name", "x"}},
                  "[ $1 = tune ] && { trap 'echo \"{\\\"heater_off\\\":true}\"; exit 6' TERM\n" + lines +
                      "\nwhile :; do sleep 0.05; done; }\n");
        sayWhatIsLearnt();
        find<QPushButton>("learn")->click();
        ASSERT_TRUE(QTest::qWaitFor([this] { return find<QLabel>("now")->text().contains("°C"); }));
    }
    const std::string rises = R"(echo '{"step":"rising","time_s":9,"plate_C":30.1,"duty":0.5}')",
                      cools = R"(echo '{"heater_off":true}'
echo '{"step":"cooling","time_s":2,"plate_C":105.2,"duty":0}')";
    bool canBeSaved() { return find<QPushButton>("save")->isEnabled(); }
    bool canBeLearnt() { return find<QPushButton>("learn")->isEnabled(); }
    bool stands(const char* file) { return QFile::exists(folder.filePath(file)); }
    std::string needs() { return find<QLabel>("needs")->text().toStdString(); }
    void open(const std::string& text)
    {
        const QString file = folder.filePath("given.plate.json");
        std::ofstream(file.toStdString()) << text;
        find<QPushButton>("openLink")->click();
        auto* question = dialog->findChild<QFileDialog*>();
        ASSERT_TRUE(question);
        emit question->fileSelected(file);
        delete question;
    }
    bool idle() { return dialog->connector().job() == PlateConnector::Job::None; }
    std::string textOf(const char* name)
    {
        std::ifstream file(folder.filePath(name).toStdString());
        return {std::istreambuf_iterator<char>(file), {}};
    }
    QString lastNote()
    {
        auto* notes = find<QListWidget>("notes");
        return notes->count() ? notes->item(notes->count() - 1)->text() : QString();
    }
    /// Keeps the draft it is to prove, and says the link that stands beside it; or what it is to learn by.
    const std::string standIn = R"(here=$(dirname $0); case $1 in
        connect) cp "$2" $here/draft; echo "{\"heater_off\":true,\"link\":$(cat $here/link 2>/dev/null || echo null)}";;
        *) echo "$@" > $here/said; echo '{"heater_off":true}';; esac)";
    template <class Kind> Kind* find(const char* name) { return dialog->findChild<Kind*>(name); }
    QComboBox* codingOf(const char* row)
    {
        for (auto* box : find<QWidget>(row)->findChildren<QComboBox*>())
            if (box->accessibleName().endsWith("coding"))
                return box;
        return nullptr;
    }
    const json wholeLink =
        json::parse(R"({"format": "stripwright-plate-link", "version": 1, "name": "North bench",
        "host": "192.0.2.9", "port": 502, "unit": 3, "drive": "duty",
        "registers": {"sensor_C": {"table": "input", "address": 7, "type": "int16", "scale": 0.1},
                      "duty": {"table": "holding", "address": 1, "type": "uint16", "scale": 0.0001}}})");

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

TEST_F(Connecting, WhatIsChangedWhileAPlateIsProvenWasNotProven)
{
    provesToBe({{"name", "x"}});
    controllerIs("sleep 0.3; " + standIn);
    sayPlate();
    find<QPushButton>("prove")->click();
    find<QSpinBox>("port")->setValue(503);
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    EXPECT_EQ(find<QSpinBox>("port")->value(), 503);
    EXPECT_TRUE(find<QLabel>("needs")->text().contains("proven again"))
        << find<QLabel>("needs")->text().toStdString();
    EXPECT_FALSE(find<QPushButton>("save")->isEnabled());
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

TEST_F(Connecting, FurtherRegistersAreClosedUntilAskedForAndReachTheDraft)
{
    controllerIs(standIn);
    auto* head = find<QPushButton>("further");
    EXPECT_FALSE(find<QWidget>("status")->isVisible());
    head->click();
    EXPECT_TRUE(find<QWidget>("status")->isVisible());
    EXPECT_FALSE(find<QWidget>("watchdogBits")->isVisible()); // it has no status bits yet
    for (const char* row : {"status", "clearWatchdog", "counter", "fan"})
        find<QWidget>(row)->findChild<QCheckBox*>()->setChecked(true);
    find<QWidget>("status")->findChild<QSpinBox*>()->setValue(4);
    find<QLineEdit>("sensorBits")->setText("2, 5");
    find<QLineEdit>("readingEvery")->setText("0.5 s");
    find<QLineEdit>("plateMax")->setText("280");
    find<QPushButton>("addSetting")->click();
    sayPlate();
    find<QPushButton>("prove")->click();
    EXPECT_TRUE(idle());
    const QString refused = lastNote();
    EXPECT_TRUE(refused.contains("needs that bit") && refused.contains("no name")) << refused.toStdString();
    find<QLineEdit>("watchdogBits")->setText("1");
    find<QWidget>("settings")->findChild<QLineEdit*>()->setText("own ramp off");
    find<QPushButton>("prove")->click();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    const json draft = json::parse(textOf("draft"));
    const json registers = draft["registers"];
    EXPECT_EQ(registers["status"]["address"], 4);
    EXPECT_EQ(registers["status"]["sensor_fault_mask"], 36);
    EXPECT_EQ(registers["status"]["watchdog_tripped_mask"], 2);
    EXPECT_EQ(registers["clear_watchdog"], (json{{"table", "holding"}, {"address", 0}, {"value", 1}}));
    EXPECT_EQ(registers["counter"]["type"], "uint16");
    EXPECT_EQ(registers["fan"], (json{{"table", "coil"}, {"address", 0}}));
    EXPECT_FALSE(registers.contains("strip_sensor_C") || registers.contains("watchdog_s"));
    EXPECT_EQ(draft["reading_every_s"], 0.5);
    EXPECT_EQ(draft["plate_max_C"], 280);
    ASSERT_EQ(draft["settings"].size(), 1u);
    EXPECT_EQ(draft["settings"][0]["name"], "own ramp off");
    head->click();
    EXPECT_FALSE(find<QWidget>("status")->isVisible());
    EXPECT_EQ(find<QLabel>("furtherInUse")->text(),
              "status bits, clearing, counter, fan, pace of readings, a setting");
}

TEST_F(Connecting, WhatIsAskedOfALineComesBackWithIt)
{
    controllerIs("exit 0");
    const auto stands = [this](const char* name) {
        QCoreApplication::processEvents();
        const auto* field = find<QWidget>(name);
        const auto below = [this](const char* of) {
            return find<QWidget>(of)->mapTo(dialog.get(), QPoint()).y();
        };
        return field->isVisible() && field->height() > 10 && below(name) + field->height() <= below("unit");
    };
    EXPECT_TRUE(stands("host"));
    for (int turn = 0; turn < 2; ++turn) {
        find<QComboBox>("lineKind")->setCurrentIndex(1);
        EXPECT_TRUE(stands("device") && !find<QWidget>("host")->isVisible());
        find<QComboBox>("lineKind")->setCurrentIndex(0);
        EXPECT_TRUE(stands("host") && stands("port")) << turn;
        EXPECT_FALSE(find<QWidget>("device")->isVisible());
        find<QComboBox>("drive")->setCurrentIndex(2);
        find<QComboBox>("drive")->setCurrentIndex(0);
        QCoreApplication::processEvents();
        EXPECT_TRUE(find<QWidget>("duty")->isVisible() && find<QWidget>("duty")->height() > 20);
    }
}

TEST_F(Connecting, OnlyAPlateWithALoopOfItsOwnIsAskedForTheHeatItTells)
{
    controllerIs("exit 0");
    find<QPushButton>("further")->click();
    EXPECT_FALSE(find<QWidget>("toldDuty")->isVisible() || find<QWidget>("off")->isVisible());
    EXPECT_TRUE(find<QWidget>("duty")->isVisible());
    find<QComboBox>("drive")->setCurrentIndex(2);
    EXPECT_TRUE(find<QWidget>("toldDuty")->isVisible() && find<QWidget>("off")->isVisible() &&
                find<QWidget>("ownRamp")->isVisible());
    EXPECT_FALSE(find<QWidget>("duty")->isVisible() || find<QWidget>("leastOn")->isVisible());
    find<QComboBox>("drive")->setCurrentIndex(1);
    EXPECT_TRUE(find<QWidget>("leastOn")->isVisible());
}

TEST_F(Connecting, LinkFileIsGoneOnFromAndWhatIsNotShownStaysInIt)
{
    controllerIs(standIn);
    const json link = json::parse(R"({"format": "stripwright-plate-link", "version": 1, "name": "North bench",
        "host": "192.0.2.9", "port": 502, "unit": 3, "drive": "setpoint",
        "registers": {"sensor_C": {"table": "input", "address": 7, "type": "int16", "scale": 0.00390625, "offset": -2.5},
                      "setpoint_C": {"table": "holding", "address": 1, "type": "float32", "order": "CDAB"}},
        "channels": [{"name": "heatsink_C", "table": "holding", "address": 40, "type": "int16"}],
        "no_sensor_raw": [32767], "watchdog_s": 3.0, "setpoint_floor_C": 5.0})");
    open(link.dump());
    EXPECT_EQ(find<QLineEdit>("name")->text(), "North bench");
    EXPECT_TRUE(find<QPushButton>("save")->isEnabled()); // it says how its sensor is read
    find<QLineEdit>("name")->setText("South bench");
    EXPECT_TRUE(find<QPushButton>("save")->isEnabled());
    find<QCheckBox>("bare")->setChecked(true);
    find<QPushButton>("prove")->click();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    json expected = link;
    expected["name"] = "South bench";
    expected["registers"]["setpoint_C"]["scale"] = 1.0;
    EXPECT_EQ(json::parse(textOf("draft")), expected);
    open("{\"format\": \"other\"}");
    EXPECT_TRUE(lastNote().contains("/format")) << lastNote().toStdString();
    EXPECT_EQ(find<QLineEdit>("name")->text(), "South bench");
}

TEST_F(Connecting, WhatWasProvenIsKeptOnDiskUntilItIsSaved)
{
    connected({{"name", "x"}, {"watchdog_proven_s", 4.4}});
    EXPECT_EQ(json::parse(textOf("unsaved.plate.json"))["watchdog_proven_s"], 4.4);
    EXPECT_TRUE(lastNote().contains("unsaved.plate.json")) << lastNote().toStdString();
    saveAs("bench.plate.json");
    EXPECT_EQ(json::parse(textOf("bench.plate.json"))["watchdog_proven_s"], 4.4);
    EXPECT_FALSE(stands("unsaved.plate.json"));
}

TEST_F(Connecting, WhatWasKeptOfAnotherPlateIsNeitherWrittenOverNorRemoved)
{
    const json other = {{"name", "South bench"}, {"host", "192.0.2.1"}},
               elsewhere = {{"name", "x"}, {"host", "192.0.2.7"}};
    std::ofstream(folder.filePath("unsaved.plate.json").toStdString()) << other;
    std::ofstream(folder.filePath("unsaved-2.plate.json").toStdString()) << elsewhere;
    connected({{"name", "x"}, {"watchdog_proven_s", 4.4}});
    EXPECT_EQ(json::parse(textOf("unsaved.plate.json")), other);
    EXPECT_EQ(json::parse(textOf("unsaved-2.plate.json")), elsewhere);
    EXPECT_TRUE(lastNote().contains("unsaved-3.plate.json")) << lastNote().toStdString();
    provesToBe({{"name", "x"}, {"watchdog_proven_s", 5}}); // proven again, it takes the place of the first
    proveByButton();
    EXPECT_EQ(json::parse(textOf("unsaved-3.plate.json"))["watchdog_proven_s"], 5);
    EXPECT_FALSE(stands("unsaved-4.plate.json"));
    saveAs("bench.plate.json");
    EXPECT_FALSE(stands("unsaved-3.plate.json"));
    EXPECT_TRUE(stands("unsaved.plate.json") && stands("unsaved-2.plate.json"));
}

TEST_F(Connecting, WhatAnotherDialogHasKeptStaysWhenALinkFileIsSaved)
{
    std::ofstream(folder.filePath("unsaved.plate.json").toStdString()) << "{\"name\": \"North bench\"}";
    controllerIs(standIn);
    open(wholeLink.dump());
    saveAs("bench.plate.json");
    EXPECT_TRUE(stands("bench.plate.json") && stands("unsaved.plate.json"));
}

TEST_F(Connecting, WhatCannotBeReadIsNeitherSavedNorLearntButSaid)
{
    connected({{"name", "x"}, {"plate_max_C", 250}, {"sensor_max_C", 400}});
    sayWhatIsLearnt();
    ASSERT_TRUE(canBeSaved() && canBeLearnt()) << needs();
    const auto refused = [this](const char* field, const char* typed, const char* said) {
        const QString before = find<QLineEdit>(field)->text();
        find<QLineEdit>(field)->setText(typed);
        EXPECT_FALSE(canBeSaved() || canBeLearnt()) << typed;
        EXPECT_NE(needs().find(said), std::string::npos) << needs();
        EXPECT_TRUE(find<QPushButton>("save")->toolTip().contains(said)) << typed;
        find<QLineEdit>(field)->setText(before);
        EXPECT_TRUE(canBeSaved() && canBeLearnt()) << needs();
    };
    refused("plateMax", "28o", "Never hotter than");
    refused("plateMax", "401", "400 °C"); // no sensor shows it
    refused("name", "  ", "a name");
    find<QPushButton>("save")->click();
    find<QLineEdit>("plateMax")->setText("28o"); // while the name of the file is asked for
    emit dialog->findChild<QFileDialog*>()->fileSelected(folder.filePath("bench.plate.json"));
    EXPECT_FALSE(stands("bench.plate.json"));
    EXPECT_TRUE(dialog->isVisible() && stands("unsaved.plate.json"));
    EXPECT_TRUE(lastNote().contains("Never hotter than")) << lastNote().toStdString();
}

TEST_F(Connecting, WhatIsTypedAmissWhileItIsProvenStaysToBeMended)
{
    provesToBe({{"name", "x"}});
    controllerIs("sleep 0.3; " + standIn);
    sayPlate();
    find<QPushButton>("prove")->click();
    find<QLineEdit>("plateMax")->setText("28o");
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    EXPECT_EQ(find<QLineEdit>("plateMax")->text(), "28o");
    EXPECT_FALSE(canBeSaved());
    find<QLineEdit>("plateMax")->setText("280");
    EXPECT_TRUE(canBeSaved()) << needs();
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

TEST_F(Connecting, WhatWasProvenIsNotTakenForThePlateOfAFileThatWasOpenedBefore)
{
    provesToBe({{"name", "x"}});
    controllerIs("sleep 0.3; " + standIn);
    open(wholeLink.dump()); // of 192.0.2.9
    sayPlate();
    find<QPushButton>("prove")->click();
    find<QLineEdit>("host")->setText("192.0.2.3");
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    find<QLineEdit>("host")->setText("192.0.2.9");
    EXPECT_FALSE(canBeSaved());
    find<QLineEdit>("host")->setText("192.0.2.1");
    EXPECT_TRUE(canBeSaved()) << needs();
}

TEST_F(Connecting, PlateThatIsProvenAgainToBeTheSameCanBeSaved)
{
    connected({{"name", "x"},
               {"registers", {{"sensor_C", {{"table", "input"}, {"type", "int16"}, {"scale", 0.1}}}}}});
    codingOf("sensor")->setCurrentIndex(0); // to be found out
    EXPECT_FALSE(canBeSaved());
    proveByButton();
    EXPECT_TRUE(canBeSaved()) << needs();
}

TEST_F(Connecting, APlateIsAskedForItsNameSoThatNoTwoShareOne)
{
    controllerIs(standIn);
    EXPECT_EQ(find<QLineEdit>("name")->text(), "");
    sayPlate();
    find<QLineEdit>("name")->clear();
    find<QPushButton>("prove")->click();
    EXPECT_TRUE(idle());
    EXPECT_TRUE(lastNote().contains("a name")) << lastNote().toStdString();
}

TEST_F(Connecting, SettingOfAFileCanBeMovedToThePlatesOwnUnit)
{
    controllerIs(standIn);
    json link = wholeLink;
    link["settings"] = {{{"name", "remote"},
                         {"table", "holding"},
                         {"address", 7},
                         {"unit", 6},
                         {"type", "uint16"},
                         {"value", 1}}};
    open(link.dump());
    const QList<QSpinBox*> boxes = find<QWidget>("settings")->findChildren<QSpinBox*>();
    ASSERT_EQ(boxes.size(), 2);
    ASSERT_EQ(boxes[1]->value(), 6);
    boxes[1]->setValue(-1);
    find<QCheckBox>("bare")->setChecked(true);
    proveByButton();
    EXPECT_FALSE(json::parse(textOf("draft"))["settings"][0].contains("unit")) << textOf("draft");
}

TEST_F(Connecting, WhatOneCountIsWorthIsNotTakenInFahrenheit)
{
    controllerIs(standIn);
    sayPlate();
    codingOf("sensor")->setCurrentText("int16");
    find<QWidget>("sensor")->findChild<FigureField*>()->setText("0.1 °F");
    find<QPushButton>("prove")->click();
    EXPECT_TRUE(idle());
    EXPECT_TRUE(lastNote().contains("0.1 °F") && lastNote().contains("5/9")) << lastNote().toStdString();
    find<QWidget>("sensor")->findChild<FigureField*>()->setText("0.1 °C");
    proveByButton();
    EXPECT_EQ(json::parse(textOf("draft"))["registers"]["sensor_C"]["scale"], 0.1);
}

TEST_F(Connecting, ARampOfItsOwnWantsAnEnableOutput)
{
    controllerIs(standIn);
    sayPlate();
    find<QComboBox>("drive")->setCurrentIndex(2);
    find<QLineEdit>("ownRamp")->setText("1.2");
    find<QPushButton>("prove")->click();
    EXPECT_TRUE(idle());
    EXPECT_TRUE(lastNote().contains("Ramp of its own") && lastNote().contains("Enable output"))
        << lastNote().toStdString();
    EXPECT_TRUE(find<QLabel>("formMessage")->text().contains("Enable output"));
    find<QWidget>("enable")->findChild<QCheckBox*>()->setChecked(true);
    EXPECT_EQ(find<QLabel>("formMessage")->text(), "");
    proveByButton();
    EXPECT_EQ(json::parse(textOf("draft"))["own_ramp_C_per_s"], 1.2);
}

TEST_F(Connecting, AFileThatIsOpenedTakesBackWhatWasSaidOfThePlateBefore)
{
    connected({{"name", "x"}});
    sayWhatIsLearnt();
    find<QCheckBox>("sizeNotKnown")->setChecked(true);
    EXPECT_EQ(find<QLabel>("heater")->text(), "Heater off, read back");
    open(wholeLink.dump());
    EXPECT_EQ(find<QLineEdit>("name")->text(), "North bench");
    EXPECT_FALSE(find<QCheckBox>("bare")->isChecked());
    EXPECT_FALSE(find<QCheckBox>("sizeNotKnown")->isChecked());
    EXPECT_EQ(find<QLineEdit>("power")->text(), "");
    EXPECT_EQ(find<QLineEdit>("size")->text(), "");
    EXPECT_FALSE(find<QLabel>("heater")->isVisible());
    EXPECT_FALSE(canBeLearnt() || find<QPushButton>("prove")->isEnabled());
}

TEST_F(Connecting, AFileWithProblemsIsNotTakenAndEachIsSaid)
{
    controllerIs(
        "[ \"$1 $2\" = 'check-link --' ] && { echo \"$3: /serial/baud: found 1234\"; echo \"$3: /host: "
        "found both\"; exit 3; }; exit 0");
    open(wholeLink.dump());
    EXPECT_EQ(find<QLineEdit>("name")->text(), "");
    EXPECT_FALSE(canBeSaved());
    auto* notes = find<QListWidget>("notes");
    ASSERT_EQ(notes->count(), 3);
    EXPECT_TRUE(notes->item(0)->text().startsWith("Not opened")) << lastNote().toStdString();
    EXPECT_TRUE(notes->item(1)->text().contains("found 1234"));
    EXPECT_TRUE(lastNote().contains("found both"));
    QFile::remove(folder.filePath("stripwright-controller"));
    open(wholeLink.dump()); // nobody can say what it is worth
    EXPECT_EQ(find<QLineEdit>("name")->text(), "");
    EXPECT_TRUE(lastNote().contains("stripwright-controller")) << lastNote().toStdString();
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

TEST_F(Connecting, AHeaterNotConfirmedStandsInTheLookOfAnAlarm)
{
    controllerIs("echo '{\"heater_off\": false}'; exit 1");
    prove();
    ASSERT_TRUE(QTest::qWaitFor([this] { return idle(); }));
    EXPECT_TRUE(find<QLabel>("heater")->text().contains("NOT confirmed"));
    EXPECT_EQ(find<QLabel>("heater")->property("tone").toString(), "abnormal");
}

TEST_F(Connecting, WhatWasNeverSavedIsOfferedWhenItIsOpened)
{
    std::ofstream(folder.filePath("unsaved-2.plate.json").toStdString()) << wholeLink;
    controllerIs(standIn);
    auto* offered = find<QLabel>("unsaved");
    auto* goOn = find<QPushButton>("goOnUnsaved");
    ASSERT_TRUE(offered && goOn && offered->isVisible() && goOn->isVisible());
    EXPECT_TRUE(offered->text().contains("North bench") && offered->text().contains("never saved"))
        << offered->text().toStdString();
    goOn->click();
    EXPECT_EQ(find<QLineEdit>("host")->text(), "192.0.2.9");
    EXPECT_FALSE(offered->isVisible() || goOn->isVisible());
    saveAs("bench.plate.json");
    EXPECT_TRUE(stands("bench.plate.json"));
    EXPECT_FALSE(stands("unsaved-2.plate.json"));
}

TEST_F(Connecting, APortThatIsNoneIsRefusedInWords)
{
    controllerIs(standIn);
    sayPlate();
    auto* port = find<QSpinBox>("port");
    port->findChild<QLineEdit*>()->selectAll();
    QTest::keyClicks(port, "99999");
    EXPECT_EQ(port->text(), "99999");
    EXPECT_TRUE(find<QLabel>("formMessage")->text().contains("found 99999, expected 1 to 65535"))
        << find<QLabel>("formMessage")->text().toStdString();
    find<QPushButton>("prove")->click();
    EXPECT_TRUE(idle());
    find<QPushButton>("find")->click();
    EXPECT_TRUE(idle());
    EXPECT_TRUE(lastNote().contains("65535")) << lastNote().toStdString();
}

} // namespace stripwright
