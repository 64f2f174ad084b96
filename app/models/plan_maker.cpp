#include "models/plan_maker.h"

namespace stripwright {

PlanMaker::PlanMaker(std::function<JobPlan(const BenchSheet&)> plan, QThread::Priority priority,
                     QObject* parent)
    : QObject(parent), plan_(std::move(plan))
{
    worker_.setMaxThreadCount(1);
    worker_.setThreadPriority(priority);
}

PlanMaker::~PlanMaker()
{
    worker_.waitForDone();
}

std::shared_ptr<const HeatPlan> PlanMaker::plan(size_t heat) const
{
    if (!newest_)
        return nullptr;
    return {newest_, &newest_->heats[std::min(heat, newest_->heats.size() - 1)]};
}

void PlanMaker::request(const BenchSheet& sheet)
{
    if (busy_) {
        next_ = sheet;
        return;
    }
    launch(sheet);
}

void PlanMaker::launch(const BenchSheet& sheet)
{
    busy_ = true;
    emit busyChanged();
    worker_.start([this, sheet] {
        std::shared_ptr<const JobPlan> job;
        QString failure;
        try {
            job = std::make_shared<JobPlan>(plan_(sheet));
        } catch (const std::exception& error) {
            failure = QString::fromUtf8(error.what());
        }
        QMetaObject::invokeMethod(this, [this, job, failure] { finish(job, failure); });
    });
}

void PlanMaker::finish(std::shared_ptr<const JobPlan> job, const QString& failure)
{
    if (next_) {
        const BenchSheet sheet = *std::exchange(next_, std::nullopt);
        launch(sheet);
        return;
    }
    busy_ = false;
    if (job)
        newest_ = std::move(job);
    failure_ = failure;
    emit busyChanged();
    emit planned();
}

} // namespace stripwright
