#include "judged_job.h"

#include "processor_time.h"

#include "planner/heat_kinds.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

namespace stripwright::figures {

namespace {

std::string withSign(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%+.3f", value);
    return text;
}

std::string inWords(const JobWorth& worth)
{
    std::string text = worth.refused ? "refused" : worth.runs ? "runs" : "does not run";
    text += ", worst " + withSign(worth.worst);
    if (!worth.tightest.empty())
        text += " (" + worth.tightest + ")";
    return text + ", " + std::to_string(worth.lensesKept) + " lenses, " + std::to_string(worth.heats) +
           (worth.heats == 1 ? " heat" : " heats");
}

/// Room of more than half a window on every side is spent on habits.
double enough(double margin)
{
    constexpr double most = 0.99;
    return std::min(margin, most);
}

/// A plan by the search that levers are judged by: quick, from the plan's own aim.
JobWorth quickWorth(const BenchSheet& sheet)
{
    return worthOf(jobPlanOf(sheet, answerJob(sheet, {.quick = true})));
}

/// Below what its what-if starts from, or below the quick search: more steps and power must not cost margin.
std::string belowBaseline(const BenchSheet& sheet, const JobWorth& plan, const WhatIfAnswer& whatIf)
{
    if (enough(plan.worst) < enough(whatIf.worstMargin) - searchScatter)
        return "its what-if starts from " + withSign(whatIf.worstMargin) + ", the plan has " +
               withSign(plan.worst);
    if (plan.lensesKept < whatIf.lensesThatStay)
        return "its what-if starts from " + std::to_string(whatIf.lensesThatStay) +
               " lenses kept, the plan keeps " + std::to_string(plan.lensesKept);
    const JobWorth quick = quickWorth(sheet);
    if (quick.worst >= 0 && plan.worst < -searchScatter)
        return "quick: " + inWords(quick) + "; plan: " + inWords(plan);
    if ((quick.worst >= 0) == (plan.worst >= 0) && quick.lensesKept > plan.lensesKept)
        return "quick: " + inWords(quick) + "; plan: " + inWords(plan);
    const bool savesAHeat = plan.heats < quick.heats && plan.worst >= 0;
    if (quick.lensesKept == plan.lensesKept && !savesAHeat &&
        enough(plan.worst) < enough(quick.worst) - searchScatter)
        return "quick: " + inWords(quick) + "; plan: " + inWords(plan);
    return {};
}

std::string contradicted(const WhatIf& lever, const JobWorth& plan)
{
    const std::string said =
        "lever " + withSign(lever.worstMargin) + ", " + std::to_string(lever.lensesThatStay) + " lenses; ";
    if (lever.worstMargin >= 0 && !plan.runs && (plan.refused || plan.worst < -leverTolerance))
        return said + "its sheet " + inWords(plan);
    if (lever.worstMargin < -leverTolerance && plan.runs)
        return said + "its sheet runs: " + inWords(plan);
    if (plan.lensesKept < lever.lensesThatStay)
        return said + "its sheet keeps fewer: " + inWords(plan);
    if (enough(plan.worst) < enough(lever.worstMargin) - leverTolerance)
        return said + "its sheet has less room: " + inWords(plan);
    return {};
}

void judgeFan(JudgedJob& judged)
{
    if (!(judged.sheet.plate.fanLossWPerK > 0))
        return;
    judged.triedFan = true;
    BenchSheet other = judged.sheet;
    other.cooling.fan = !other.cooling.fan;
    const JobWorth changed = worthOf(planJob(other));
    const JobWorth& with = judged.sheet.cooling.fan ? judged.plan : changed;
    const JobWorth& without = judged.sheet.cooling.fan ? changed : judged.plan;
    if (without.runs && !with.runs)
        judged.fanSpoils = "without " + inWords(without) + "; with " + inWords(with);
}

} // namespace

JobWorth worthOf(const JobPlan& job)
{
    JobWorth worth{.runs = job.runnable(), .worst = std::numeric_limits<double>::infinity()};
    worth.heats = job.heats.size();
    std::set<int> lost;
    for (const HeatPlan& heat : job.heats) {
        worth.refused = worth.refused || !refusalsOf(heat.sheet).empty();
        for (const int site : lostLenses(heat.margins))
            lost.insert(site);
    }
    for (const HeatPlan& heat : job.heats)
        for (const MarginRow& row : heat.margins)
            if (!row.limit.habit && !lost.count(lensSiteOf(row.limit)) &&
                row.normalisedMargin < worth.worst) {
                worth.worst = row.normalisedMargin;
                worth.tightest = row.limit.id;
            }
    for (const SiteOnBench& here : job.sheet.sites)
        worth.lensesKept += job.sheet.lensStaysOn(here.site) && !lost.count(here.site);
    return worth;
}

JudgedJob judgeJob(const BenchSheet& sheet, const Shelf& shelf, int number, int mostLevers)
{
    JudgedJob judged{.number = number, .sheet = sheet};
    judged.processorS =
        1e-3 * test::millisecondsOf(
                   [&] {
                       if (!hasHeatsToAnswer(sheet)) {
                           judged.plan = worthOf(planJob(sheet));
                           judgeFan(judged);
                           return;
                       }
                       const std::vector<HeatAnswer> answers = answerJob(sheet);
                       judged.plan = worthOf(jobPlanOf(sheet, answers));
                       judged.hasBaseline = true;
                       WhatIfAnswer whatIfAnswer{judged.plan.lensesKept, judged.plan.worst, {}};
                       if (mostLevers > 0)
                           whatIfAnswer = whatIf(sheet, shelf);
                       judged.belowBaseline = belowBaseline(sheet, judged.plan, whatIfAnswer);
                       for (const WhatIf& lever : whatIfAnswer.levers) {
                           if (lever.refused || judged.leversPlanned >= mostLevers)
                               continue;
                           ++judged.leversPlanned;
                           const std::string why = contradicted(lever, worthOf(planJob(lever.sheet)));
                           if (!why.empty())
                               judged.contradictions.push_back({lever.lever, lever.what, why});
                       }
                       judgeFan(judged);
                   },
                   CLOCK_PROCESS_CPUTIME_ID);
    return judged;
}

} // namespace stripwright::figures
