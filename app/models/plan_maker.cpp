#include "models/plan_maker.h"

namespace stripwright {

PlanMaker::PlanMaker(std::function<HeatPlan(const BenchSheet&)> plan, QObject* parent)
    : QObject(parent), plan_(std::move(plan))
{
    worker_.setMaxThreadCount(1);
}

PlanMaker::~PlanMaker()
{
    worker_.waitForDone();
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
        std::shared_ptr<const HeatPlan> plan;
        QString failure;
        try {
            plan = std::make_shared<HeatPlan>(plan_(sheet));
        } catch (const std::exception& error) {
            failure = QString::fromUtf8(error.what());
        }
        QMetaObject::invokeMethod(this, [this, plan, failure] { finish(plan, failure); });
    });
}

void PlanMaker::finish(std::shared_ptr<const HeatPlan> plan, const QString& failure)
{
    if (next_) {
        const BenchSheet sheet = *std::exchange(next_, std::nullopt);
        launch(sheet);
        return;
    }
    busy_ = false;
    if (plan)
        newest_ = std::move(plan);
    failure_ = failure;
    emit busyChanged();
    emit planned();
}

} // namespace stripwright
