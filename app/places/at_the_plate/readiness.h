#pragma once

#include "planner/heat_plan.h"
#include "rules/plate_differences.h"

#include <QFrame>

class QCheckBox;
class QLabel;
class QPushButton;

namespace stripwright {

class LiveRun;

/// What must be so before the heat may start, each line with its state in words, and the Start button.
class Readiness : public QFrame {
    Q_OBJECT
public:
    explicit Readiness(QWidget* parent = nullptr);
    /// `fanByHand`: the plan has a fan, and the plate's link does not switch it.
    void showState(const LiveRun& run, const HeatPlan* plan, bool planning, bool fanByHand);
    /// What is out of order with this heat of its job, to be confirmed before the start; empty: nothing.
    void setOutOfOrder(const QString& text);
    void askCautionsAgain(); ///< What was agreed to for one heat, or one plate, is not for the next.
    void setPlateText(const QString& text) { plateText_ = text; } ///< Of a real plate that answers.
    /// What is known of the plate, to be compared with the plan's; none: nothing to compare.
    void setConnectedPlate(const std::optional<ConnectedPlate>& plate) { connected_ = plate; }
    bool ready() const { return ready_; }

signals:
    void startWanted();
    void connectWanted();
    void otherPlateWanted(); ///< A real one is to be connected.
    void savedPlateWanted(); ///< One that was connected before, by its link file.
    void simulatedPlateWanted();

private:
    struct Line {
        QLabel *mark, *text;
    };
    void set(Line& line, bool met, const QString& text);
    static void setToKnow(Line& line, const QString& text);
    void decide();

    Line link_, trip_, plan_, differs_, cold_, fan_;
    QCheckBox *cautions_, *anyway_;
    QLabel* outOfOrder_;
    QPushButton *start_, *connect_, *otherPlate_, *saved_, *simulated_;
    QString plateText_;
    std::optional<ConnectedPlate> connected_;
    bool met_ = false, ready_ = false;
};

} // namespace stripwright
