#include "connecting.h"

namespace stripwright {

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

} // namespace stripwright
