#include "connecting.h"

namespace stripwright {

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
