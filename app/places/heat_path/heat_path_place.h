#pragma once

#include "models/run_history.h"

#include <QWidget>

#include <memory>

class QLabel;
class QPushButton;
class QVBoxLayout;

namespace stripwright {

class CurveView;
class HeatRow;
class MarginTable;
class MessageLine;

/// The plan: predicted curves, the margin ladder, and what would help.
class HeatPathPlace : public QWidget {
    Q_OBJECT
public:
    explicit HeatPathPlace(QWidget* parent = nullptr);
    /// `advising`: what would help is still being tried out.
    void setPlan(std::shared_ptr<const HeatPlan> plan, bool planning, const QString& failure, bool advising);
    /// The heats of the sheet, to choose from where there are several.
    void setHeats(const std::shared_ptr<const JobPlan>& job, size_t chosen, const HeatsDone& done);
    void refresh(); ///< After a change of theme.

signals:
    void heatChosen(size_t heat);
    void adviceWanted(); ///< What else could be changed is to be planned.
    void sheetWanted(const BenchSheet& sheet, const QString& name); ///< A change was taken.

private:
    void showVerdict(bool planning, const QString& failure);
    void showHelp();

    std::shared_ptr<const HeatPlan> plan_;
    HeatRow* heats_;
    QLabel *title_, *state_;
    MessageLine* verdict_;
    QPushButton *span_, *try_;
    CurveView* curves_;
    MarginTable* margins_;
    QVBoxLayout* help_;
    bool withCoolDown_ = false, advising_ = false;
};

} // namespace stripwright
