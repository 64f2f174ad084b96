#include "app/main_window.h"

#include "at_the_plate/at_the_plate_place.h"
#include "at_the_plate/connect_plate.h"
#include "heat_path/heat_path_place.h"
#include "look_back/look_back_place.h"
#include "materials/problem.h"
#include "models/simulated_hands.h"
#include "planner/what_if.h"
#include "sheet/sheet_place.h"
#include "shelf/shelf_place.h"
#include "widgets/base_line.h"
#include "widgets/file_question.h"
#include "widgets/look.h"
#include "widgets/stop_button.h"

#include <QApplication>
#include <QCloseEvent>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QShortcut>
#include <QStackedWidget>
#include <QTimer>

#include <csignal>

namespace stripwright {

static constexpr int waitForOffMs = 2000;

MainWindow::MainWindow(Shelf shelf, const WindowOptions& options)
    : options_(options), sheet_(std::move(shelf)), answers_(answersOf),
      planner_([this](const BenchSheet& of) { return jobPlanOf(of, answers_.of(of)); }),
      advisor_(
          [this](const BenchSheet& of) {
              const auto answers = answers_.of(of);
              JobPlan job = jobPlanOf(of, answers);
              const std::vector<Suggestion> suggestions = helpful(whatIf(of, sheet_.shelf(), answers));
              for (HeatPlan& plan : job.heats)
                  plan.suggestions = suggestions;
              return job;
          },
          QThread::IdlePriority),
      runs_(options.runsFile), history_(options.runsFile), plate_(options.settingsFile, options.plateLink)
{
    setWindowTitle(tr("Stripwright"));
    sheetPlace_ = new SheetPlace(sheet_);
    heatPath_ = new HeatPathPlace;
    atThePlate_ = new AtThePlatePlace(run_);
    lookBack_ = new LookBackPlace(runs_);
    shelfPlace_ = new ShelfPlace(sheet_.shelf(), QString::fromStdString(options.userShelfFolder.string()));
    stack_ = new QStackedWidget;
    // A place that wants more than a low screen has must not push Stop heating off it.
    constexpr int leastPlacePx = 380;
    stack_->setMinimumHeight(leastPlacePx);
    for (QWidget* place :
         std::initializer_list<QWidget*>{sheetPlace_, heatPath_, atThePlate_, lookBack_, shelfPlace_})
        stack_->addWidget(place);
    baseLine_ = new BaseLine(run_);

    auto* upper = new QHBoxLayout;
    upper->setSpacing(0);
    upper->addWidget(rail());
    upper->addWidget(stack_, 1);
    auto* centre = new QWidget;
    auto* column = new QVBoxLayout(centre);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(0);
    column->addLayout(upper, 1);
    column->addWidget(baseLine_);
    setCentralWidget(centre);
    addKeys();

    connect(&sheet_, &SheetModel::changed, this, [this] { planner_.request(sheet_.sheet()); });
    connect(&planner_, &PlanMaker::busyChanged, this, &MainWindow::showPlan);
    connect(&planner_, &PlanMaker::planned, this, [this] {
        const size_t heats = planner_.job() ? planner_.job()->heats.size() : 0;
        if (heat_ >= heats)
            heat_ = 0;
        if (planner_.failure().isEmpty() && planner_.job() && !planner_.job()->runnable())
            advisor_.request(planner_.job()->sheet);
        showPlan();
        laySheetOnPlate();
    });
    connect(&advisor_, &PlanMaker::planned, this, &MainWindow::showPlan);
    connect(&advisor_, &PlanMaker::busyChanged, this, &MainWindow::showPlan);
    connect(heatPath_, &HeatPathPlace::adviceWanted, this, [this] { advisor_.request(sheet_.sheet()); });
    connect(heatPath_, &HeatPathPlace::heatChosen, this, &MainWindow::chooseHeat);
    connect(sheetPlace_, &SheetPlace::heatChosen, this, &MainWindow::chooseHeat);
    connect(atThePlate_, &AtThePlatePlace::heatChosen, this, &MainWindow::chooseHeat);
    connect(&history_, &RunHistory::changed, this, [this] {
        sheetPlace_->offerMeasuredHands(history_.hands());
        showPlan();
    });
    connect(heatPath_, &HeatPathPlace::sheetWanted, sheetPlace_, &SheetPlace::take);
    connect(atThePlate_, &AtThePlatePlace::connectWanted, this, &MainWindow::connectPlate);
    connect(atThePlate_, &AtThePlatePlace::otherPlateWanted, this, &MainWindow::openConnectPlate);
    connect(atThePlate_, &AtThePlatePlace::savedPlateWanted, this, &MainWindow::askSavedPlate);
    connect(atThePlate_, &AtThePlatePlace::simulatedPlateWanted, this, &MainWindow::useSimulatedPlate);
    connect(&plate_, &ChosenPlate::changed, this, &MainWindow::plateChanged);
    connect(&run_, &LiveRun::ended, &runs_, &RecordedRuns::list);
    connect(&runs_, &RecordedRuns::listed, this, [this] { history_.read(); });
    connect(&run_, &LiveRun::ended, this, [this] {
        if (const auto& status = run_.status(); status && run_.runPlan())
            history_.take(status->runKey, *run_.runPlan(), status->outcome == Outcome::Completed,
                          run_.events());
    });
    connect(&run_, &LiveRun::phaseChanged, this, [this] { contactIsNew_ = true; });
    connect(&run_, &LiveRun::statusChanged, this, [this] {
        layAfterContact();
        noteSimulatedPlate();
        lookAfterLeftHot();
        closeIfOff();
    });
    connect(&signals_, &OperatorSignals::stop, this, [this] {
        if (signals_.last() == SIGTSTP && !heats())
            ::raise(SIGSTOP); // nothing heats: it may stand still
        else
            leave();
    });
    connect(qApp, &QGuiApplication::commitDataRequest, this, &MainWindow::leave, Qt::DirectConnection);
    if (!options.sheetFile.empty())
        sheetPlace_->openFile(QString::fromStdString(options.sheetFile.string()));
    if (!planner_.busy())
        planner_.request(sheet_.sheet());
    plateChanged();
    history_.read();
    stopPresses().add(
        this, [this] { return heatElsewhere_ && run_.phase() == LiveRun::Phase::Off; }, [] {});
    if (followRunning())
        lookedForRunning_ = true;
    else
        sayWhatRunsElsewhere();
    go(Place(std::clamp(options.place, 1, int(PlaceCount)) - 1));
    stack_->currentWidget()->setFocus();
}

// The places look at the models until they are gone.
MainWindow::~MainWindow()
{
    delete takeCentralWidget();
}

QWidget* MainWindow::rail()
{
    auto* rail = new QWidget;
    rail->setObjectName("rail");
    rail->setAttribute(Qt::WA_StyledBackground);
    auto* column = new QVBoxLayout(rail);
    column->setContentsMargins(space::s, space::l, space::s, space::s);
    column->setSpacing(space::xs);
    const QStringList names{tr("Sheet"), tr("Heat path"), tr("At the plate"), tr("Look back"), tr("Shelf")};
    for (int i = 0; i < names.size(); ++i) {
        auto* button = new QPushButton(names[i]);
        button->setObjectName(QStringLiteral("place%1").arg(i + 1));
        button->setProperty("tone", "rail");
        button->setCheckable(true);
        button->setToolTip(tr("Ctrl+%1").arg(i + 1));
        places_.addButton(button, i);
        column->addWidget(button);
    }
    column->addStretch();
    theme_ = new QPushButton;
    theme_->setProperty("tone", "rail");
    theme_->setText(look().theme == Theme::Dark ? tr("Light") : tr("Dark"));
    connect(theme_, &QPushButton::clicked, this, &MainWindow::toggleTheme);
    column->addWidget(theme_);
    QFont bold = rail->font();
    bold.setBold(true);
    rail->setMinimumWidth(QFontMetrics(bold).horizontalAdvance(QStringLiteral("At the plate")) +
                          4 * space::m);
    connect(&places_, &QButtonGroup::idClicked, this, [this](int id) { go(Place(id)); });
    return rail;
}

void MainWindow::addKeys()
{
    const auto key = [this](const QKeySequence& keys, auto act) {
        auto* shortcut = new QShortcut(keys, this);
        connect(shortcut, &QShortcut::activated, this, act);
        return shortcut;
    };
    for (int i = 0; i < PlaceCount; ++i)
        key(QKeySequence(Qt::CTRL | Qt::Key(Qt::Key_1 + i)), [this, i] { go(Place(i)); });
    for (const auto enter : {Qt::Key_Return, Qt::Key_Enter})
        key(QKeySequence(Qt::CTRL | enter), [this] {
            if (place() == AtThePlate) // where the card can be read
                atThePlate_->answerCard();
        })->setAutoRepeat(false);
    key(QKeySequence::Open, [this] {
        go(Sheet);
        sheetPlace_->askOpen();
    });
    key(QKeySequence::Save, [this] {
        if (sheet_.file().isEmpty())
            sheetPlace_->askSave();
        else
            sheetPlace_->saveFile(sheet_.file());
    });
    key(QKeySequence(Qt::CTRL | Qt::SHIFT | Qt::Key_S), [this] { sheetPlace_->askSave(); });
    key(QKeySequence::Undo, [this] { sheetPlace_->edits().undo(); });
    key(QKeySequence(Qt::CTRL | Qt::SHIFT | Qt::Key_Z), [this] { sheetPlace_->edits().redo(); });
    key(QKeySequence::Quit, [this] { close(); });
}

void MainWindow::go(Place place)
{
    places_.button(place)->setChecked(true);
    stack_->setCurrentIndex(place);
    if (place == AtThePlate && run_.phase() == LiveRun::Phase::Off)
        connectPlate();
    else if (place == AtThePlate)
        laySheetOnPlate();
    if (place == LookBack)
        lookBack_->enter();
    if (place == Sheet)
        sheetPlace_->findChild<QWidget*>("stripDrawing")->setFocus();
}

MainWindow::Place MainWindow::place() const
{
    return Place(stack_->currentIndex());
}

void MainWindow::showPlan()
{
    const auto plan = planner_.plan(heat_);
    const auto job = planner_.job();
    const size_t heat = job ? std::min(heat_, job->heats.size() - 1) : 0;
    const HeatsDone done = job ? history_.doneOf(*job) : HeatsDone();
    sheetPlace_->setJob(job, heat, done, planner_.busy(), planner_.failure());
    const bool advises = advisor_.job() && planner_.job() && advisor_.job()->sheet == planner_.job()->sheet;
    heatPath_->setHeats(job, heat, done);
    heatPath_->setPlan(advises ? advisor_.plan(heat_) : plan, planner_.busy(), planner_.failure(),
                       advisor_.busy());
    atThePlate_->setJob(planner_.failure().isEmpty() ? job : nullptr, heat, done, planner_.busy());
}

void MainWindow::chooseHeat(size_t heat)
{
    heat_ = heat;
    showPlan();
    laySheetOnPlate();
}

void MainWindow::connectPlate()
{
    if (connecting_) { // its programs hold the line, perhaps to the very plate that is in use here
        connecting_->raise();
        return;
    }
    // Not on a simulated plate without a run: its strip may be another one by now.
    const bool leftBehind = run_.runIsOn() || (run_.phase() == LiveRun::Phase::Lost && !plate_.simulated());
    if (leftBehind && run_.canTakeUpAgain()) { // a run may go on there, and its controller holds the plate
        run_.takeUpAgain();
        return;
    }
    LiveRunSetup setup;
    setup.binFolder = options_.binFolder;
    setup.plateLink = plate_.linkFile();
    setup.runsFile = options_.runsFile;
    setup.speed = plate_.simulated() ? options_.speed : 1;
    onPlate_ = sheetOnPlate();
    if (run_.heatMayBeOn() && !run_.simulatedPlate() && run_.plateLink() != setup.plateLink)
        baseLine_->keep(tr("%1: its heater was not read back off. Switch that plate off at the mains.")
                            .arg(QString::fromStdString(run_.plateLink().filename().string())));
    if (!std::exchange(lookedForRunning_, true) && followRunning())
        return;
    run_.open(setup, *onPlate_);
}

// A window that was killed leaves its controller behind, perhaps in the middle of a run.
bool MainWindow::followRunning()
{
    std::error_code ignored;
    try {
        for (const RunningController& one : runningControllers())
            if (!plate_.simulated() && std::filesystem::equivalent(one.plateLink, plate_.linkFile(), ignored))
                return run_.attach(one);
    } catch (const std::exception&) { // the controller that is started next says what is wrong there
    }
    return false;
}

void MainWindow::sayWhatRunsElsewhere()
{
    QStringList plates;
    try {
        for (const RunningController& one : runningControllers())
            if (!one.simulated)
                plates += QString::fromStdString(one.plate);
    } catch (const std::exception&) { // none can be found
    }
    heatElsewhere_ = !plates.isEmpty();
    if (heatElsewhere_)
        baseLine_->keep(
            tr("A controller that was started elsewhere runs and may heat: %1. Until a plate is connected "
               "here, Stop heating stops that one, too.")
                .arg(plates.join(", ")));
}

bool MainWindow::otherPlateMayBeTaken()
{
    if (!run_.runIsOn())
        return true;
    baseLine_->say(
        tr("A run is on, or may go on where it was lost: another plate can be taken once it has ended."));
    return false;
}

void MainWindow::useSimulatedPlate()
{
    if (otherPlateMayBeTaken())
        plate_.useSimulated();
}

void MainWindow::askSavedPlate()
{
    if (!otherPlateMayBeTaken())
        return;
    const std::filesystem::path& last = plate_.lastLinkFile();
    auto* question =
        new FileQuestion(this, tr("Use a saved plate"),
                         QString::fromStdString((last.empty() ? options_.linkFolder : last).string()),
                         tr("Plate links (*.plate.json)"), FileQuestion::For::Opening);
    connect(question, &QFileDialog::fileSelected, this, &MainWindow::useSavedPlate);
    question->show();
}

void MainWindow::useSavedPlate(const QString& file)
{
    const QString problem = plateInWords(file.toStdString()).problem;
    if (!problem.isEmpty())
        baseLine_->say(problem);
    else if (otherPlateMayBeTaken())
        plate_.use(file.toStdString());
}

// The controller that runs now holds the line to its plate, perhaps the very one that is to be connected.
void MainWindow::openConnectPlate()
{
    const bool speaks = run_.phase() == LiveRun::Phase::Connected;
    if (run_.runIsOn() || (speaks && run_.heatMayBeOn())) {
        baseLine_->say(
            tr("A plate can be connected once the run has ended and the heater of this one was read "
               "back off. Press Stop heating, and look at the link."));
        return;
    }
    if (!connecting_) {
        run_.close();
        connecting_ =
            new ConnectPlate(options_.binFolder, options_.linkFolder, options_.userShelfFolder, this);
        connect(connecting_, &ConnectPlate::shelfChanged, this, &MainWindow::readShelfAgain);
        connect(&connecting_->connector(), &PlateConnector::jobChanged, this, [this] {
            baseLine_->refresh();
            lookAfterLeftHot();
            closeIfOff();
        });
        connect(connecting_, &ConnectPlate::leftHot, this, [this] {
            if (leftHot_ && leftHot_ != connecting_) {
                baseLine_->keep(leftHot_->leftWords());
                leftHot_->deleteLater();
            }
            leftHot_ = connecting_;
            leftHotLink_.clear();
            lookAfterLeftHot();
        });
        connect(connecting_, &ConnectPlate::leftWarm, baseLine_, &BaseLine::keep);
        connect(connecting_, &QDialog::finished, connecting_, [dialog = connecting_.data(), this] {
            if (dialog != leftHot_)
                dialog->deleteLater();
        });
        connect(connecting_, &ConnectPlate::saved, this, [this](const QString& file) {
            leftHotLink_ = leftHot_ == connecting_ ? file.toStdString() : std::string();
            connecting_.clear();
            plate_.use(file.toStdString());
        });
        connect(connecting_, &QDialog::rejected, this, [this] {
            connecting_.clear();
            plateChanged();
        });
    }
    connecting_->show();
    connecting_->raise();
    connecting_->activateWindow();
}

void MainWindow::readShelfAgain()
{
    std::vector<std::filesystem::path> folders = options_.shelfFolders;
    if (!options_.userShelfFolder.empty())
        folders.push_back(options_.userShelfFolder);
    try {
        sheet_.takeShelf(readShelf(folders));
        shelfPlace_->setShelf(sheet_.shelf());
    } catch (const BadInput& error) {
        baseLine_->say(tr("Your shelf cannot be read, the one of before stays: %1")
                           .arg(QString::fromUtf8(error.what())));
    }
}

// It stays, unseen, for as long as its heater is not read back off: a press on Stop heating reaches it.
void MainWindow::noteSimulatedPlate()
{
    const auto& status = run_.status();
    if (!status || !run_.runIsOn() || status->runKey.empty() || status->runKey == notedRun_)
        return;
    notedRun_ = status->runKey;
    if (run_.simulatedPlate() || saysSimulated(run_.plateLink()))
        run_.addNote(QString::fromStdString(simulatedPlateNote));
}

void MainWindow::lookAfterLeftHot()
{
    if (!leftHot_)
        return;
    const bool runReadsOff = !leftHotLink_.empty() && run_.plateLink() == leftHotLink_ && run_.live() &&
                             readBackOff(*run_.status());
    const QString words = runReadsOff ? QString() : leftHot_->leftWords();
    baseLine_->stand(words);
    if (!words.isEmpty())
        return;
    if (leftHot_ != connecting_)
        leftHot_->deleteLater();
    leftHot_.clear();
}

void MainWindow::plateChanged()
{
    QString text;
    bool switchesFan = true;
    if (!plate_.simulated()) {
        const PlateInWords plate = plate_.inWords();
        switchesFan = plate.switchesFan;
        text = plate.problem.isEmpty()
                   ? tr("%1 answers, %2. %3 %4").arg(plate.name, plate.reached, plate.watchdog, plate.heat)
                   : plate.problem;
    }
    atThePlate_->setPlateText(text, switchesFan, readConnectedPlate(plate_.linkFile()));
    if (connecting_)
        return;
    if (!run_.runIsOn())
        run_.close();
    if (place() == AtThePlate)
        connectPlate();
}

// The strip on a simulated plate is the one of the sheet: a changed sheet needs another plate, but never
// during a run.
void MainWindow::laySheetOnPlate()
{
    if (place() == AtThePlate && run_.phase() == LiveRun::Phase::Connected && run_.simulatedPlate() &&
        !run_.runIsOn() && onPlate_ != sheetOnPlate())
        connectPlate();
}

// The sheet, or the heat that is shown, may have changed while nothing could be laid there: while the plate
// was started, or contact was lost.
void MainWindow::layAfterContact()
{
    if (contactIsNew_ && plate_.simulated() && onPlate_ && run_.phase() == LiveRun::Phase::Connected &&
        run_.live()) {
        contactIsNew_ = false;
        laySheetOnPlate();
    }
}

BenchSheet MainWindow::sheetOnPlate() const
{
    const auto plan = planner_.plan(heat_);
    return plan && planner_.job()->sheet == sheet_.sheet() ? plan->sheet : sheet_.sheet();
}

// Laying the whole window out anew takes half a second, in which no press would be taken.
void MainWindow::toggleTheme()
{
    if (heats()) {
        baseLine_->say(tr("The colours can be changed once the heater is off."));
        return;
    }
    useTheme(look().theme == Theme::Dark ? Theme::Light : Theme::Dark);
    theme_->setText(look().theme == Theme::Dark ? tr("Light") : tr("Dark"));
    sheetPlace_->refresh();
    heatPath_->refresh();
    atThePlate_->refresh();
    lookBack_->refresh();
    baseLine_->refresh();
}

// An idle plate that does not answer is no reason to stay.
bool MainWindow::heats() const
{
    const auto& status = run_.status();
    const bool commanded = status && status->heater == HeaterState::On;
    const bool unanswered = run_.stop() != LiveRun::Stop::None && run_.stop() != LiveRun::Stop::OffConfirmed;
    return ((run_.runIsOn() || commanded || unanswered) && run_.heatMayBeOn()) ||
           (connecting_ && (connecting_->heatMayBeOn() || connecting_->connector().heats())) ||
           (leftHot_ && leftHot_->heatMayBeOn());
}

void MainWindow::leave()
{
    if (heats())
        stopPresses().press();
    close();
}

// Closing in a heat stops it first, and waits for the heater to be read back off; where that answer does not
// come, a second try closes, and the guardian and the plate's own watchdog are left with it.
void MainWindow::closeEvent(QCloseEvent* event)
{
    const bool tooLong = closeAsked_.isValid() && closeAsked_.hasExpired(waitForOffMs);
    if (!heats() || tooLong) {
        for (ConnectPlate* dialog : {connecting_.data(), leftHot_.data()})
            if (dialog)
                dialog->disconnect(this);
        event->accept();
        return;
    }
    event->ignore();
    stopPresses().press();
    if (closeAsked_.isValid())
        return;
    closeAsked_.start();
    baseLine_->say(
        tr("Heating is being stopped; the window closes when the heater has been read back off. Plate and "
           "strip stay hot: leave both alone until they are measured to be below 45 °C."));
    QTimer::singleShot(waitForOffMs + 1, Qt::PreciseTimer, this, [this] {
        baseLine_->say(
            tr("The heater was not read back off: switch the plate off at the mains. Close the window "
               "once more to leave all the same; the controller's guardian then goes on turning the "
               "heater off."));
    });
}

void MainWindow::closeIfOff()
{
    if (closeAsked_.isValid() && !heats())
        close();
}

} // namespace stripwright
