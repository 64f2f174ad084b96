#pragma once

#include "app/window.h"
#include "models/chosen_plate.h"
#include "models/last_answers.h"
#include "models/live_run.h"
#include "models/operator_signals.h"
#include "models/plan_maker.h"
#include "models/recorded_runs.h"
#include "models/run_history.h"
#include "models/sheet_model.h"

#include <QButtonGroup>
#include <QElapsedTimer>
#include <QMainWindow>
#include <QPointer>
#include <QTimer>

class QPushButton;
class QStackedWidget;

namespace stripwright {

class AtThePlatePlace;
class BaseLine;
class ConnectPlate;
class HeatPathPlace;
class LookBackPlace;
class SheetPlace;
class ShelfPlace;

/// The five places, the rail that leads to them, and the base line. Builds and connects; decides nothing
/// else.
class MainWindow : public QMainWindow {
    Q_OBJECT
public:
    enum Place { Sheet, HeatPath, AtThePlate, LookBack, ShelfRoom, PlaceCount };

    MainWindow(Shelf shelf, const WindowOptions& options);
    ~MainWindow() override;

    void go(Place place);
    Place place() const;
    void toggleTheme();
    /// As closing it, for whoever ends the program from outside: heat is stopped before anything else.
    void leave();
    bool heats() const; ///< Heat is on or was commanded, here or where a plate is being connected.
    SheetPlace& sheetPlace() { return *sheetPlace_; }
    AtThePlatePlace& atThePlate() { return *atThePlate_; }
    LookBackPlace& lookBack() { return *lookBack_; }
    SheetModel& sheet() { return sheet_; }
    PlanMaker& planner() { return planner_; }
    LiveRun& run() { return run_; }

protected:
    void closeEvent(QCloseEvent* event) override;

private:
    QWidget* rail();
    void addKeys();
    void showPlan();
    void chooseHeat(size_t heat);
    void connectPlate();
    void openConnectPlate();
    void readShelfAgain();
    bool followRunning();
    void sayWhatRunsElsewhere();
    bool otherPlateMayBeTaken();
    void useSimulatedPlate();
    void askSavedPlate();
    void useSavedPlate(const QString& file);
    void lookAfterLeftHot();
    void noteSimulatedPlate();
    void closeIfOff();
    void plateChanged();
    BenchSheet sheetOnPlate() const; // as it lies in the heat that is shown
    void laySheetOnPlate();
    void layAfterContact();

    WindowOptions options_;
    SheetModel sheet_;
    size_t heat_ = 0;     // which of a job's heats is shown and run
    LastAnswers answers_; // to the sheet, for both that follow
    PlanMaker planner_;
    /// Plans again with what might help: slower by far, so only for sheets that cannot be run, and only where
    /// nobody else wants the processor.
    PlanMaker advisor_;
    LiveRun run_;
    RecordedRuns runs_;
    std::string notedRun_; ///< Key of the last run noted to be on the simulated plate.
    RunHistory history_;
    ChosenPlate plate_;
    std::optional<BenchSheet> onPlate_; // what the simulated plate was started with
    QButtonGroup places_;
    QStackedWidget* stack_;
    QPushButton* theme_;
    SheetPlace* sheetPlace_;
    HeatPathPlace* heatPath_;
    AtThePlatePlace* atThePlate_;
    LookBackPlace* lookBack_;
    ShelfPlace* shelfPlace_;
    BaseLine* baseLine_;
    QPointer<ConnectPlate> connecting_;
    QPointer<ConnectPlate> leftHot_;    // closed, and its plate's heater was not read back off
    std::filesystem::path leftHotLink_; // of that plate, if it was saved
    OperatorSignals signals_;
    bool lookedForRunning_ = false, heatElsewhere_ = false;
    bool contactIsNew_ = true; // nothing heard since the last change of phase
    QElapsedTimer closeAsked_; // valid: the window closes once the heater has been read back off
};

} // namespace stripwright
