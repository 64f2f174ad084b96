#pragma once

#include "models/connected_plate.h"
#include "models/run_history.h"

#include <QTimer>
#include <QWidget>

#include <memory>

class QFrame;
class QLabel;
class QLineEdit;
class QListWidget;
class QPushButton;

namespace stripwright {

class CurveView;
class HandCardView;
struct CardAsks;
class HeatRow;
class LiveRun;
class MarginTable;
class Readiness;

/// A heat as it happens: readiness, the card for the hands, live curves over the path, values, margins so
/// far, log.
class AtThePlatePlace : public QWidget {
    Q_OBJECT
public:
    explicit AtThePlatePlace(LiveRun& run, QWidget* parent = nullptr);

    /// The job on the sheet, null while it has none, and which of its heats is to be run.
    void setJob(const std::shared_ptr<const JobPlan>& job, size_t heat, const HeatsDone& done, bool planning);
    void start(); ///< As the Start button does, if everything is ready.
    void acknowledgeCautions();
    void refresh();    ///< After a change of theme.
    void answerCard(); ///< As the button on the card that is up; nothing if it has none.
    bool ready() const;

    /// Which real plate it is, how proven, how well known; whether its link switches a fan; and what is
    /// known of it, to be compared with the plate of a plan.
    void setPlateText(const QString& text, bool switchesFan, const std::optional<ConnectedPlate>& plate = {});

signals:
    void heatChosen(size_t heat);
    void connectWanted();
    void otherPlateWanted();
    void savedPlateWanted();
    void simulatedPlateWanted();

protected:
    void showEvent(QShowEvent* event) override; // what was not drawn while nobody looked

private:
    QWidget* valuesPanel();
    void takeUpRun(const QString& problem);
    void dropOtherPlan();
    void redraw();
    void showValues();
    void showValue(QLabel* value, QLabel* more, const QString& valueText, const QString& moreText, bool live);
    void showCard();
    void showCardOfRun();
    bool fanByHand(const HeatPlan* plan) const;
    void showHeat();
    void readyAnother();
    bool jointsMayBeLiquid(const HeatPlan& plan) const;
    CardAsks asksOf(const HandCard& card) const;
    void showMargins();
    void addEvents();
    const HeatPlan* drawnPlan() const { return runPlan_ ? runPlan_.get() : plan_.get(); }

    LiveRun& run_;
    std::shared_ptr<const JobPlan> job_;
    std::shared_ptr<const HeatPlan> plan_, runPlan_;
    size_t heat_ = 0;
    HeatsDone done_;
    bool planning_ = false, switchesFan_ = true;
    size_t eventsShown_ = 0;
    QTimer redrawSoon_, marginsSoon_;
    HandCardView* card_;
    HeatRow* heats_;
    QLabel* heatOfJob_;
    CurveView* curves_;
    QPushButton *backToNow_, *another_;
    MarginTable* margins_;
    QListWidget *log_, *hands_;
    Readiness* readiness_;
    QWidget *before_, *during_;
    QLabel *plate_, *plateMore_, *joint_, *jointMore_, *power_, *powerMore_;
    QLineEdit* note_;
};

} // namespace stripwright
