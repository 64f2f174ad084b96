#pragma once

#include "planner/job_plan.h"

#include <QObject>
#include <QThread>
#include <QThreadPool>

#include <functional>
#include <memory>

namespace stripwright {

/// Plans sheets off the calling thread, one at a time. Of the sheets asked for while one is being planned
/// only the newest is planned next, and an answer that a newer sheet has overtaken is not published.
class PlanMaker : public QObject {
    Q_OBJECT
public:
    /// Threads that `plan` starts have its priority too.
    explicit PlanMaker(std::function<JobPlan(const BenchSheet&)> plan,
                       QThread::Priority priority = QThread::InheritPriority, QObject* parent = nullptr);
    ~PlanMaker() override;

    void request(const BenchSheet& sheet);
    bool busy() const { return busy_; }
    std::shared_ptr<const JobPlan> job() const { return newest_; } ///< Null before the first answer.
    /// One heat of it, the last where there are fewer.
    std::shared_ptr<const HeatPlan> plan(size_t heat = 0) const;
    const QString& failure() const
    {
        return failure_;
    } ///< Why the last request has no answer; empty if it has.

signals:
    void busyChanged();
    void planned(); ///< plan() or failure() is that of the newest sheet.

private:
    void launch(const BenchSheet& sheet);
    void finish(std::shared_ptr<const JobPlan> job, const QString& failure);

    std::function<JobPlan(const BenchSheet&)> plan_;
    QThreadPool worker_;
    std::shared_ptr<const JobPlan> newest_;
    std::optional<BenchSheet> next_;
    QString failure_;
    bool busy_ = false;
};

} // namespace stripwright
