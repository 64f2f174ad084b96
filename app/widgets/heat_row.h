#pragma once

#include "models/run_history.h"

#include <QWidget>

#include <memory>

class QHBoxLayout;
class QLabel;

namespace stripwright {

/// The heats of a job, one to be chosen, each with its mark: done, or not runnable. Hidden where there is
/// only one.
class HeatRow : public QWidget {
    Q_OBJECT
public:
    enum class Head { None, Shown }; ///< Whether it says which heat is shown.
    explicit HeatRow(Head head = Head::Shown, QWidget* parent = nullptr);
    void showHeats(const std::shared_ptr<const JobPlan>& job, size_t chosen, const HeatsDone& done);

signals:
    void heatChosen(size_t heat);

private:
    std::shared_ptr<const JobPlan> job_;
    QLabel* shown_;
    QHBoxLayout* row_;
};

} // namespace stripwright
