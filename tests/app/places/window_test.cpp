#include "app/main_window.h"

#include "at_the_plate/at_the_plate_place.h"
#include "at_the_plate/connect_plate.h"
#include "demo_sheet.h"
#include "fake_controller.h"
#include "sheet/sheet_form.h"
#include "sheet/sheet_place.h"
#include "widgets/choice_field.h"
#include "widgets/file_question.h"
#include "widgets/look.h"
#include "widgets/strip_drawing.h"

#include <QApplication>
#include <QCheckBox>
#include <QDialog>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QTableView>
#include <QTemporaryDir>
#include <QTest>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <functional>
#include <gtest/gtest.h>

namespace stripwright {

using test::heating;

struct OpenWindow : testing::Test {
    OpenWindow()
    {
        options.sheetFile = SHELF_DIR "/marram-lane-bar-7.bench.json";
        options.runsFile = folder.filePath("runs.db").toStdString();
        options.binFolder = "/no/such/folder";
        window = std::make_unique<MainWindow>(test::shippedShelf(), options);
        window->resize(1200, 800);
        window->show();
        EXPECT_TRUE(planned());
    }
    bool planned()
    {
        return QTest::qWaitFor([&] { return window->planner().plan() && !window->planner().busy(); }, 30000);
    }
    template <class Kind> Kind* find(const char* name) { return window->findChild<Kind*>(name); }

    QTemporaryDir folder;
    WindowOptions options;
    std::unique_ptr<MainWindow> window;
};

TEST_F(OpenWindow, ASiteMarkedByKeyChangesThePlanAndUndoBringsItBack)
{
    const auto before = window->planner().plan();
    const BenchSheet sheetBefore = window->sheet().sheet();
    ASSERT_EQ(before->sheet.targets(), std::vector<int>{6});
    auto* strip = find<StripDrawing>("stripDrawing");
    strip->setFocus();
    QTest::keyClick(strip, Qt::Key_Home);
    for (int i = 0; i < 4; ++i)
        QTest::keyClick(strip, Qt::Key_Right);
    QTest::keyClick(strip, Qt::Key_R);
    EXPECT_EQ(window->sheet().sheet().targets(), (std::vector<int>{5, 6}));
    ASSERT_TRUE(planned());
    EXPECT_EQ(window->planner().job()->sheet.targets(), (std::vector<int>{5, 6}));
    EXPECT_NE(window->planner().plan()->margins.size(), before->margins.size());
    EXPECT_EQ(window->sheetPlace().edits().undoText(), "mark 5 to replace");
    auto* undo = find<QPushButton>("undo");
    ASSERT_TRUE(undo->isEnabled());
    QTest::mouseClick(undo, Qt::LeftButton);
    ASSERT_TRUE(planned());
    EXPECT_TRUE(window->sheet().sheet() == sheetBefore);
    EXPECT_EQ(window->planner().plan()->margins.size(), before->margins.size());
}

TEST_F(OpenWindow, ADragOfThePlateIsOneStepBack)
{
    auto* strip = find<StripDrawing>("stripDrawing");
    for (double startMm : {150.0, 140.0, 130.0})
        emit strip->plateMoved(startMm, true);
    emit strip->plateMoved(130, false);
    emit strip->plateMoved(131, false);
    EXPECT_EQ(window->sheetPlace().edits().count(), 2);
    window->sheetPlace().edits().undo();
    EXPECT_DOUBLE_EQ(window->sheet().sheet().plateStartMm, 130);
    window->sheetPlace().edits().undo();
    EXPECT_DOUBLE_EQ(window->sheet().sheet().plateStartMm, 162.5);
}

TEST_F(OpenWindow, SitesAreMarkedFromTextAndNonsenseIsToldBesideTheField)
{
    auto* field = find<QLineEdit>("sitesField");
    field->setText("6, 8-9");
    QTest::mouseClick(find<QPushButton>("markReplace"), Qt::LeftButton);
    EXPECT_EQ(window->sheet().sheet().targets(), (std::vector<int>{6, 8, 9}));
    field->setText("99");
    QTest::mouseClick(find<QPushButton>("markReplace"), Qt::LeftButton);
    EXPECT_TRUE(find<QLabel>("sitesMessage")->text().contains("1 to 12"));
    EXPECT_EQ(window->sheet().sheet().targets(), (std::vector<int>{6, 8, 9}));
}

TEST_F(OpenWindow, ABadFileIsToldAndTheSheetStays)
{
    QFile file(folder.filePath("bad.bench.json"));
    ASSERT_TRUE(file.open(QIODevice::WriteOnly));
    file.write("{\"format\": 1}");
    file.close();
    const BenchSheet before = window->sheet().sheet();
    window->sheetPlace().openFile(file.fileName());
    EXPECT_TRUE(window->sheet().sheet() == before);
    EXPECT_TRUE(find<QLabel>("sheetMessage")->text().contains("/format"));
    EXPECT_TRUE(find<QLabel>("sheetMessage")->isVisible());
}

TEST_F(OpenWindow, ThePaceOfTheHandsIsOfferedOnceRunsTellEnoughOfIt)
{
    auto* form = window->findChild<SheetForm*>();
    ASSERT_TRUE(form);
    const auto choices = form->findChildren<ChoiceField*>();
    const auto hands =
        std::ranges::find_if(choices, [](ChoiceField* one) { return one->accessibleName() == "Hands"; });
    ASSERT_TRUE(hands != choices.end());
    ChoiceField* field = *hands;
    const int before = field->count();
    window->sheetPlace().offerMeasuredHands({.siteS = {9, 10}, .runs = 1});
    EXPECT_EQ(field->count(), before) << "too few";
    const MeasuredHands measured{.siteS = {9, 10, 11, 12, 30}, .runs = 3};
    window->sheetPlace().offerMeasuredHands(measured);
    ASSERT_EQ(field->count(), before + 1);
    EXPECT_EQ(field->itemText(before), "as measured in 3 runs: 12 s a site");
    field->setCurrentIndex(before);
    emit field->activated(before);
    EXPECT_EQ(window->sheet().sheet().hands, *paceOf(measured));
    EXPECT_EQ(field->currentText(), "as measured in 3 runs: 12 s a site");
    window->sheetPlace().offerMeasuredHands({.siteS = {9, 9, 9}, .runs = 4}); // the sheet's stays as it is
    EXPECT_EQ(field->currentText(), "measured: 12 s a site");
}

TEST_F(OpenWindow, ControlAndADigitLeadToEveryPlace)
{
    for (int i = MainWindow::PlaceCount - 1; i >= 0; --i) {
        QTest::keyClick(window.get(), Qt::Key(Qt::Key_1 + i), Qt::ControlModifier);
        EXPECT_EQ(window->place(), i);
    }
}

TEST_F(OpenWindow, StopIsInEveryPlaceAndNeverDisabled)
{
    auto* stop = find<QPushButton>("stop");
    const QPoint corner = stop->mapTo(window.get(), QPoint());
    for (int i = 0; i < MainWindow::PlaceCount; ++i) {
        window->go(MainWindow::Place(i));
        QTest::qWait(1);
        EXPECT_TRUE(stop->isVisible() && stop->isEnabled());
        EXPECT_EQ(stop->mapTo(window.get(), QPoint()).x(), corner.x());
    }
    const double pixelsPerMm = stop->screen()->physicalDotsPerInch() / 25.4;
    EXPECT_GE(stop->height(), int(25 * std::max(pixelsPerMm, 72 / 25.4)));
    EXPECT_GE(stop->width(), stop->height());
}

/// A window on a screen of 1100 x 720, whose frame takes 30 of it.
struct LowScreen : OpenWindow {
    LowScreen()
    {
        window->resize(room);
        window->go(MainWindow::AtThePlate);
        EXPECT_TRUE(QTest::qWaitFor([&] { return window->run().phase() == LiveRun::Phase::Failed; }));
        controller = std::make_unique<test::FakeController>(window->run());
        RunningController real; // of which there is more to be said than of a simulated one
        real.plateLink = folder.filePath("bench.plate.json").toStdString();
        real.socket = controller->socketPath().toStdString();
        EXPECT_TRUE(window->run().attach(real));
        controller->takeConnections();
    }
    void fits(const char* when)
    {
        for (int i = 0; i < MainWindow::PlaceCount; ++i) {
            window->go(MainWindow::Place(i));
            settle();
            EXPECT_LE(window->minimumSizeHint().height(), room.height()) << when << ", place " << i + 1;
            EXPECT_EQ(window->size(), room) << when << ", place " << i + 1;
            const auto* stop = find<QPushButton>("stop");
            const QRect at(stop->mapTo(window.get(), QPoint()), stop->size());
            EXPECT_TRUE(window->rect().contains(at)) << when << ", place " << i + 1;
        }
        window->go(MainWindow::AtThePlate);
        settle();
        int overlaps = 0;
        for (const QLabel* label : window->atThePlate().findChildren<QLabel*>()) {
            const bool seen = label->isVisible() && !label->text().isEmpty();
            if (!seen)
                continue;
            const bool whole = label->wordWrap() ? label->height() >= label->heightForWidth(label->width())
                                                 : label->width() >= label->sizeHint().width();
            EXPECT_TRUE(whole) << when << ": " << label->text().toStdString();
        }
        for (const char* name : {"handCard", "liveCurves", "marginLadder"}) {
            const auto* one = window->atThePlate().findChild<QWidget*>(name);
            overlaps += one->mapTo(&window->atThePlate(), QPoint(0, one->height())).y() >
                        window->atThePlate().height();
            EXPECT_GE(one->height(), 40) << when << ": " << name;
        }
        EXPECT_EQ(overlaps, 0) << when;
    }
    static void settle()
    {
        for (int i = 0; i < 5; ++i) // a layout asks for the next one
            QTest::qWait(5);
    }

    const QSize room{1100, 720 - 30};
    std::unique_ptr<test::FakeController> controller;
};

TEST_F(LowScreen, TheSiteListShowsHalfADozenSites)
{
    window->go(MainWindow::Sheet);
    settle();
    const auto* sites = find<QTableView>("sitesTable");
    int whole = 0;
    for (int row = 0; row < sites->model()->rowCount(); ++row)
        whole += sites->viewport()->rect().contains(sites->visualRect(sites->model()->index(row, 0)));
    EXPECT_GE(whole, 6);
}

TEST_F(LowScreen, NothingThatComesUpPushesStopHeatingOffIt)
{
    auto& place = window->atThePlate();
    LiveRun& run = window->run();
    const auto is = [&](auto condition) { ASSERT_TRUE(QTest::qWaitFor(condition)); };
    HeatPlan first = *window->planner().plan();
    first.ofHeats = 2;
    HeatPlan second = first;
    second.heat = 2;
    place.setJob(std::make_shared<JobPlan>(JobPlan{first.sheet, {first, second}}), 1, {"", ""}, false);
    place.setPlateText(
        "Bench plate 60 x 60 x 6 mm answers, 127.0.0.1 port 502, unit 1. Its watchdog was never "
        "proven: it may go on heating when this computer fails. Its heat was not learnt; the "
        "sheet's plate type stands for it.",
        false);
    controller->say(test::offNow());
    is([&] { return run.live(); });
    fits("idle, another heat before it");
    Status tripped = test::offNow();
    tripped.trip = Trip{"unexpected heat: 0 % of full power given, 61 % arrives; a relay may be welded shut: "
                        "pull the mains plug",
                        false, true};
    controller->say(tripped);
    is([&] { return run.status()->trip.has_value(); });
    fits("tripped before a run");
    controller->say(test::offNow());
    find<QCheckBox>("anyway")->setChecked(true);
    place.acknowledgeCautions();
    is([&] { return place.ready(); });
    find<QPushButton>("keptSeen")->click();
    place.start();
    for (const HandCard& card : second.cards) {
        Status up = heating();
        up.runKey = "7";
        up.card = card.id;
        up.state = card.atS < 0 ? RunState::Starting : RunState::Running;
        up.profileS = std::max(0.0, card.atS + 1);
        up.endS = second.heaterOffS + 300;
        Sample sample{.seq = 1, .timeS = 10, .profileS = up.profileS, .sensorC = 151.5, .expectedC = 150};
        sample.jointLowC = 140;
        sample.jointNominalC = 145;
        sample.jointHighC = 149;
        controller->say(sample);
        controller->say(up);
        is([&] { return run.status()->card == card.id; });
        fits(card.id.c_str());
    }
    Status holding = heating();
    holding.state = RunState::Holding;
    holding.card = second.cards.back().id;
    holding.runKey = "7";
    holding.trip = tripped.trip;
    controller->say(holding);
    is([&] { return run.status()->trip.has_value(); });
    fits("holding, tripped");
    Status cooling = test::offNow();
    cooling.state = RunState::Cooling;
    cooling.sensorC = 151;
    cooling.profileS = cooling.endS = second.heaterOffS + 300;
    cooling.trip = tripped.trip;
    controller->say(cooling);
    is([&] { return run.status()->state == RunState::Cooling; });
    fits("cooling, tripped");
    Status ended = cooling;
    ended.state = RunState::Ended;
    ended.outcome = Outcome::StoppedByLimit;
    ended.outcomeText = tripped.trip->text;
    controller->say(ended);
    is([&] { return run.status()->state == RunState::Ended; });
    fits("ended");
    find<QPushButton>("another")->click();
    fits("another");
    controller->die();
    is([&] { return run.phase() == LiveRun::Phase::Lost; });
    fits("lost, a trip standing");
}

TEST_F(OpenWindow, TheSheetIsLaidOnTheSimulatedPlateOnceContactIsThereAgain)
{
    LiveRun& run = window->run();
    window->go(MainWindow::AtThePlate);
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Failed; }));
    {
        test::FakeController same(run);
        same.say(test::offNow());
        ASSERT_TRUE(QTest::qWaitFor([&] { return run.live(); }));
        QTest::qWait(20);
        EXPECT_TRUE(run.live()) << "it lies there already";
        same.hangUp();
        ASSERT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Lost; }));
    }
    emit find<StripDrawing>("stripDrawing")->plateMoved(155, false);
    ASSERT_TRUE(planned());
    test::FakeController again(run); // on the plate as it was
    again.say(test::heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.live(); }));
    QTest::qWait(20);
    EXPECT_TRUE(run.live()) << "not in a run";
    again.hangUp();
    test::FakeController third(run);
    third.say(test::offNow());
    EXPECT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Failed; }))
        << "a plate with the strip as it is now is started; none is installed";
}

TEST_F(OpenWindow, HeatDoesNotStartBeforeCautionsAndPlate)
{
    window->go(MainWindow::AtThePlate);
    auto* start = find<QPushButton>("start");
    ASSERT_TRUE(QTest::qWaitFor([&] { return window->run().phase() == LiveRun::Phase::Failed; }));
    find<QCheckBox>("cautions")->setChecked(true);
    EXPECT_FALSE(start->isEnabled()); // no plate answers
    window->atThePlate().start();
    EXPECT_FALSE(window->run().runIsOn());
    EXPECT_TRUE(find<QLabel>("lostText")->text().contains("/no/such/folder"));
}

TEST_F(OpenWindow, NoDialogStandsInFrontOfTheWindow)
{
    const auto closeThem = [] {
        for (QWidget* top : QApplication::topLevelWidgets())
            if (qobject_cast<QDialog*>(top))
                top->close();
    };
    const std::pair<const char*, std::function<void()>> ways[] = {
        {"open", [&] { window->sheetPlace().askOpen(); }},
        {"save", [&] { window->sheetPlace().askSave(); }},
        {"connect", [&] { emit window->atThePlate().otherPlateWanted(); }},
    };
    for (const auto& [name, open] : ways) {
        open();
        const auto dialogs = window->findChildren<QDialog*>();
        EXPECT_TRUE(std::ranges::any_of(dialogs, [](QDialog* one) { return one->isVisible(); })) << name;
        for (QDialog* dialog : dialogs)
            EXPECT_FALSE(dialog->isModal()) << name;
        EXPECT_EQ(QGuiApplication::modalWindow(), nullptr) << name;
        closeThem();
        QTest::qWait(1);
    }
}

TEST_F(OpenWindow, AFileThatExistsIsWrittenOverOnlyAfterASecondPress)
{
    const QString other = folder.filePath("other.bench.json");
    QFile file(other);
    ASSERT_TRUE(file.open(QIODevice::WriteOnly));
    file.write("mine");
    file.close();
    window->sheetPlace().askSave();
    auto* question = window->findChild<FileQuestion*>("fileQuestion");
    ASSERT_TRUE(question);
    question->setDirectory(folder.path());
    question->selectFile(other);
    question->accept();
    EXPECT_TRUE(question->isVisible());
    EXPECT_TRUE(question->findChild<QLabel*>("fileMessage")->text().contains("exists"));
    EXPECT_EQ(QFileInfo(other).size(), 4);
    question->accept(); // a key held down
    ASSERT_EQ(QFileInfo(other).size(), 4);
    QTest::qWait(1100);
    question->accept();
    EXPECT_GT(QFileInfo(other).size(), 100);
}

TEST_F(OpenWindow, WhileAPlateIsBeingConnectedNoOtherControllerIsStarted)
{
    window->go(MainWindow::AtThePlate);
    ASSERT_TRUE(QTest::qWaitFor([&] { return window->run().phase() == LiveRun::Phase::Failed; }));
    emit window->atThePlate().otherPlateWanted();
    EXPECT_EQ(window->run().phase(), LiveRun::Phase::Off);
    window->go(MainWindow::Sheet);
    window->go(MainWindow::AtThePlate);
    EXPECT_EQ(window->run().phase(), LiveRun::Phase::Off);
    window->findChild<QDialog*>("connectPlate")->close();
    EXPECT_TRUE(QTest::qWaitFor([&] { return window->run().phase() == LiveRun::Phase::Failed; }));
}

TEST_F(OpenWindow, ASavedPlateIsTakenByItsLinkFileAndIsAtHandAgainAfterTheSimulatedOne)
{
    const QString link = folder.filePath("bench.plate.json"), other = folder.filePath("other.plate.json");
    std::ofstream(link.toStdString()) << R"({"format": "stripwright-plate-link", "name": "Bench plate"})";
    std::ofstream(other.toStdString()) << "{}";
    window->go(MainWindow::AtThePlate);
    const auto choose = [&](const QString& file) {
        QTest::mouseClick(find<QPushButton>("savedPlate"), Qt::LeftButton);
        auto* question = window->findChild<FileQuestion*>("fileQuestion");
        ASSERT_TRUE(question);
        EXPECT_FALSE(question->isModal());
        question->setDirectory(folder.path());
        question->selectFile(file);
        question->accept();
        QTest::qWait(1);
    };
    choose(other);
    EXPECT_TRUE(find<QLabel>("baseMessage")->text().contains("is no plate link file"));
    EXPECT_TRUE(window->run().plateLink().empty());
    choose(link);
    EXPECT_EQ(window->run().plateLink(), link.toStdString());
    emit window->atThePlate().simulatedPlateWanted();
    EXPECT_TRUE(window->run().plateLink().empty());
    QTest::mouseClick(find<QPushButton>("savedPlate"), Qt::LeftButton);
    auto* question = window->findChild<FileQuestion*>("fileQuestion");
    ASSERT_TRUE(question);
    EXPECT_EQ(question->selectedFiles().value(0), link);
    question->accept();
    EXPECT_EQ(window->run().plateLink(), link.toStdString());
}

/// Two stand-ins: a real plate's controller that can be lost, and a simulated plate.
TEST_F(OpenWindow, TheSimulatedPlateIsNotTheRealOneWhoseControllerWasLost)
{
    LiveRun& run = window->run();
    RunningController real;
    real.plateLink = folder.filePath("bench.plate.json").toStdString();
    test::FakeController controller(run);
    real.socket = controller.socketPath().toStdString();
    ASSERT_TRUE(run.attach(real));
    controller.takeConnections();
    window->go(MainWindow::AtThePlate);
    controller.say(test::offNow());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.live() && !run.simulatedPlate(); }));
    controller.hangUp();
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Lost; }));
    emit window->atThePlate().simulatedPlateWanted();
    EXPECT_TRUE(run.simulatedPlate());
    EXPECT_TRUE(QTest::qWaitFor([&] { return run.phase() == LiveRun::Phase::Failed; })); // none is installed
}

TEST_F(OpenWindow, TheSimulatedPlateIsOfferedBesideALinksThatIsSimulatedToo)
{
    LiveRun& run = window->run();
    RunningController linked;
    linked.plateLink = folder.filePath("bench.plate.json").toStdString();
    linked.simulated = true;
    test::FakeController controller(run);
    linked.socket = controller.socketPath().toStdString();
    ASSERT_TRUE(run.attach(linked));
    controller.takeConnections();
    controller.say(test::heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.runIsOn(); }));
    window->go(MainWindow::AtThePlate);
    EXPECT_TRUE(run.simulatedPlate());
    auto* simulated = find<QPushButton>("simulatedPlate");
    EXPECT_TRUE(QTest::qWaitFor([&] { return !simulated->isHidden(); }));
    EXPECT_FALSE(simulated->isEnabled()) << "once the run has ended";
    controller.say(test::offNow());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !run.runIsOn() && !run.heatMayBeOn(); }));
}

TEST_F(OpenWindow, APlateLeftHotByItsConnectingIsToldAndStopReachesIt)
{
    const auto controllerIs = [&](const char* script) {
        const auto file = std::filesystem::path(folder.path().toStdString()) / "stripwright-controller";
        std::ofstream(file) << "#!/bin/sh\n" << script << "\n";
        std::filesystem::permissions(file, std::filesystem::perms::owner_all);
    };
    options.binFolder = folder.path().toStdString();
    window = std::make_unique<MainWindow>(test::shippedShelf(), options);
    window->show();
    emit window->atThePlate().otherPlateWanted();
    auto* dialog = window->findChild<ConnectPlate*>("connectPlate");
    ASSERT_TRUE(dialog);
    controllerIs("echo '{\"heater_off\": false}'; exit 1");
    ASSERT_TRUE(dialog->connector().prove(nlohmann::json::object(), {}));
    ASSERT_TRUE(QTest::qWaitFor([&] { return dialog->connector().job() == PlateConnector::Job::None; }));
    dialog->close();
    EXPECT_TRUE(find<QLabel>("keptText")->text().contains("NOT confirmed"));
    EXPECT_FALSE(find<QPushButton>("keptSeen")->isVisible());
    EXPECT_TRUE(window->heats());
    controllerIs("trap 'exit 0' TERM; echo ready; while :; do sleep 0.05; done");
    QTest::keyClick(window.get(), Qt::Key_Escape);
    EXPECT_TRUE(QTest::qWaitFor([&] { return !window->heats(); }));
    EXPECT_FALSE(find<QWidget>("kept")->isVisible());
}

/// With the dialog that connects a plate, which learns its heat by a script in the controller's place.
struct LearningWindow : OpenWindow {
    void learnBy(const std::string& script)
    {
        const auto file = std::filesystem::path(folder.path().toStdString()) / "stripwright-controller";
        std::ofstream(file) << "#!/bin/sh\n" << script << '\n';
        std::filesystem::permissions(file, std::filesystem::perms::owner_all);
        options.binFolder = options.linkFolder = folder.path().toStdString();
        window = std::make_unique<MainWindow>(test::shippedShelf(), options);
        window->show();
        emit window->atThePlate().otherPlateWanted();
        dialog = window->findChild<ConnectPlate*>("connectPlate");
        if (dialog && !dialog->connector().learn(nlohmann::json::object(), {.powerW = 300}))
            dialog = nullptr;
    }
    ConnectPlate* dialog = nullptr;
};

TEST_F(LearningWindow, APlateThatIsStillHotWhenItsConnectingIsClosedIsSaidToBe)
{
    learnBy(R"(echo '{"heater_off":true}'
echo '{"step":"cooling","time_s":2,"plate_C":105.2,"duty":0}'
exit 6)");
    ASSERT_TRUE(dialog);
    ASSERT_TRUE(QTest::qWaitFor([&] { return dialog->connector().job() == PlateConnector::Job::None; }));
    dialog->close();
    EXPECT_TRUE(find<QLabel>("keptText")
                    ->text()
                    .contains("last read 105 °C: it is hot until it has cooled below 45 °C"))
        << find<QLabel>("keptText")->text().toStdString();
}

TEST_F(LearningWindow, ClosedWhileALearntPlateCoolsItWaitsUntilThatIsKept)
{
    learnBy(
        R"(trap 'sleep 0.3; echo "{\"name\":\"North bench\",\"learnt\":1}" > "$2"; echo "{\"shelf_problem\":null}"; exit 0' TERM
echo '{"heater_off":true}'
while :; do sleep 0.05; done)");
    ASSERT_TRUE(dialog);
    ASSERT_TRUE(QTest::qWaitFor(
        [&] { return dialog->connector().heater() == PlateConnector::Heater::OffConfirmed; }));
    window->close();
    EXPECT_TRUE(window->isVisible());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !window->isVisible(); }));
    std::ifstream kept(folder.filePath("unsaved.plate.json").toStdString());
    EXPECT_TRUE(nlohmann::json::parse(kept, nullptr, false).contains("learnt"));
}

struct HeatingWindow : OpenWindow {
    HeatingWindow() : controller(window->run())
    {
        controller.say(test::heating());
        EXPECT_TRUE(QTest::qWaitFor([&] { return window->heats(); }));
    }
    ~HeatingWindow() override // so that the run does not wait for an answer
    {
        controller.say(off());
        (void)QTest::qWaitFor([&] { return !window->run().heatMayBeOn(); });
    }
    static Status off()
    {
        Status status{.state = RunState::Cooling, .heater = HeaterState::OffConfirmed, .link = LinkState::Up};
        status.sensorC = 150.0;
        return status;
    }

    test::FakeController controller;
};

TEST_F(HeatingWindow, ASignalStopsTheHeatFirstAndClosesOnceItIsReadBackOff)
{
    ::raise(SIGTERM);
    EXPECT_TRUE(controller.hearsStop());
    EXPECT_TRUE(window->isVisible());
    controller.answerStop(off());
    EXPECT_TRUE(QTest::qWaitFor([&] { return !window->isVisible(); }));
}

TEST_F(HeatingWindow, AnEndOfTheSessionStopsTheHeat)
{
    window->leave(); // what the session manager's request comes to
    EXPECT_TRUE(controller.hearsStop());
    EXPECT_TRUE(window->isVisible());
}

TEST_F(HeatingWindow, ClosingItWithoutAnAnswerSaysWhatRemainsAndASecondTryCloses)
{
    window->close();
    EXPECT_TRUE(controller.hearsStop());
    EXPECT_TRUE(QTest::qWaitFor([&] { return find<QLabel>("baseMessage")->text().contains("once more"); }));
    EXPECT_TRUE(window->isVisible());
    window->close();
    EXPECT_FALSE(window->isVisible());
}

TEST_F(HeatingWindow, EscUnderAFileQuestionStops)
{
    window->sheetPlace().askOpen();
    QTest::keyClick(window->findChild<QDialog*>("fileQuestion"), Qt::Key_Escape);
    EXPECT_TRUE(controller.hearsStop());
}

TEST_F(HeatingWindow, ItsColoursStayWhileItHeats)
{
    const Theme before = look().theme;
    window->toggleTheme();
    EXPECT_EQ(look().theme, before);
}

TEST_F(OpenWindow, BothThemesComeFromOnePlace)
{
    const QColor light = window->grab().toImage().pixelColor(300, 5);
    window->toggleTheme();
    const QColor dark = window->grab().toImage().pixelColor(300, 5);
    window->toggleTheme();
    EXPECT_GT(light.lightness(), 200);
    EXPECT_LT(dark.lightness(), 60);
}

TEST_F(OpenWindow, PlateThatCameOntoTheShelfCanBeChosenAndTheSheetStaysAsItIs)
{
    auto* plates = window->findChild<QWidget*>("plateChoice");
    auto* field = qobject_cast<ChoiceField*>(plates);
    ASSERT_TRUE(field);
    const QString chosen = field->choice();
    const BenchSheet before = window->sheet().sheet();
    Shelf shelf = test::shippedShelf();
    shelf.plates.push_back(shelf.plates.front());
    shelf.plates.back().id = "north-measured";
    shelf.plates.back().heatCapacityJPerK = 243;
    window->sheet().takeShelf(shelf);
    EXPECT_EQ(field->choice(), chosen);
    EXPECT_EQ(window->sheet().sheet(), before);
    const int at = field->findData("north-measured");
    ASSERT_GE(at, 0);
    field->setCurrentIndex(at);
    emit field->activated(at);
    EXPECT_EQ(window->sheet().sheet().plate.heatCapacityJPerK, 243);
}

} // namespace stripwright
