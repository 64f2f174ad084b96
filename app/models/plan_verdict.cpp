#include "models/plan_verdict.h"

#include "models/wording.h"

#include <QCoreApplication>

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("plan_verdict", text);
}

QString worstText(const MarginRow& row)
{
    return say("%1, %2").arg(QString::fromStdString(row.limit.what), marginText(row.limit, row.margin));
}

} // namespace

QString verdictOf(const HeatPlan& plan)
{
    if (plan.sheet.targets().empty())
        return plan.sheet.heat == HeatKind::Release ? say("No lens is marked for release yet.")
                                                    : say("No LED is marked for replacement yet.");
    if (!plan.refusals.empty())
        return say("Not runnable: %1").arg(QString::fromStdString(plan.refusals.front()));
    const auto broken = [](const MarginRow& row) { return stateOf(row) == RowState::Broken; };
    const auto worst = std::ranges::find_if(plan.margins, broken);
    const long count = std::ranges::count_if(plan.margins, broken);
    if (worst != plan.margins.end())
        return count == 1
                   ? say("Not runnable: one limit is broken: %1.").arg(worstText(*worst))
                   : say("Not runnable: %1 limits are broken. Worst: %2.").arg(count).arg(worstText(*worst));
    if (!plan.runnable)
        return say("Not runnable.");
    const long missed = std::ranges::count_if(
        plan.margins, [](const MarginRow& row) { return stateOf(row) == RowState::HabitMissed; });
    QString text = say("Runnable: every limit is kept, from the coldest case to the hottest.");
    const auto tightest = std::ranges::find_if(
        plan.margins, [](const MarginRow& row) { return !row.limit.habit && std::isfinite(row.margin); });
    if (tightest != plan.margins.end())
        text += say(" Tightest: %1.").arg(worstText(*tightest));
    if (missed > 0)
        text += missed == 1 ? say(" One trade habit is missed.")
                            : say(" %1 trade habits are missed.").arg(missed);
    return text;
}

QString verdictOf(const JobPlan& job)
{
    if (job.heats.size() == 1)
        return verdictOf(job.heats.front());
    const auto stopped = std::ranges::find_if(job.heats, [](const HeatPlan& plan) { return !plan.runnable; });
    if (stopped == job.heats.end())
        return say("Runnable in %1 heats: every limit is kept in each.").arg(job.heats.size());
    return say("%1 heats. Heat %2: %3").arg(job.heats.size()).arg(stopped->heat).arg(verdictOf(*stopped));
}

} // namespace stripwright
