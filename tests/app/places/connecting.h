#pragma once

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

} // namespace stripwright
