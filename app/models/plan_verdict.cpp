#include "models/plan_verdict.h"

#include "models/wording.h"
#include "rules/wording.h"

#include <QCoreApplication>

#include <algorithm>
#include <cmath>
#include <set>

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

/// LEDs that this heat takes past the passes their data allow.
std::set<int> pastPasses(const HeatPlan& plan)
{
    std::set<int> sites;
    for (const SitePasses& one : plan.passes)
        if (one.inThisHeat > 0 && one.after > one.allowed)
            sites.insert(one.site);
    return sites;
}

/// A verdict that names them before anything else.
QString withPasses(const QString& verdict, const std::set<int>& past)
{
    if (past.empty())
        return verdict;
    const QString sites = QString::fromStdString(siteList({past.begin(), past.end()}));
    const qsizetype colon = verdict.indexOf(':');
    if (!verdict.startsWith(say("Runnable")) || colon < 0)
        return verdict + ' ' +
               (past.size() == 1 ? say("LED %1 would go past the passes allowed.")
                                 : say("LEDs %1 would go past the passes allowed."))
                   .arg(sites);
    return verdict.first(colon) +
           (past.size() == 1 ? say(", but LED %1 goes past the passes allowed")
                             : say(", but LEDs %1 go past the passes allowed"))
               .arg(sites) +
           verdict.sliced(colon);
}

QString ofLimits(const HeatPlan& plan)
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

} // namespace

QString verdictOf(const HeatPlan& plan)
{
    return withPasses(ofLimits(plan), pastPasses(plan));
}

QString verdictOf(const JobPlan& job)
{
    if (job.heats.size() == 1)
        return verdictOf(job.heats.front());
    std::set<int> past;
    for (const HeatPlan& plan : job.heats)
        past.merge(pastPasses(plan));
    const auto isStopped = [](const HeatPlan& plan) { return !plan.runnable; };
    auto stopped = std::ranges::find_if(
        job.heats, [&](const HeatPlan& plan) { return isStopped(plan) && !job.waitsForFit(plan); });
    if (stopped == job.heats.end())
        stopped = std::ranges::find_if(job.heats, isStopped);
    return withPasses(
        stopped == job.heats.end()
            ? say("Runnable in %1 heats: every limit is kept in each.").arg(job.heats.size())
            : say("%1 heats. Heat %2: %3").arg(job.heats.size()).arg(stopped->heat).arg(ofLimits(*stopped)),
        past);
}

QString quickSearchText()
{
    return say("found by a quick search: planned in full, figures may come out a little different");
}

} // namespace stripwright
