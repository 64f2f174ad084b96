#include "commands/plan_text.h"

#include "commands/margins.h"
#include "commands/wrapped.h"
#include "models/hand_work.h"
#include "models/plan_verdict.h"
#include "models/wording.h"
#include "planner/hand_cards.h"
#include "planner/levers.h"
#include "rules/hands.h"
#include "rules/wording.h"

#include <QString>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

namespace stripwright {

namespace {

std::string padded(const std::string& text, size_t width)
{
    return QString::fromStdString(text).leftJustified(static_cast<qsizetype>(width)).toStdString();
}

/// Nominal temperature of a target's joint; none where the plan has no curve.
std::optional<double> jointAt(const HeatPlan& plan, double atS)
{
    const std::vector<int> targets = plan.sheet.targets();
    const PlanCurve* joint = targets.empty() ? nullptr : curveOf(plan, jointOf(targets.front()));
    if (!joint || plan.timeS.empty())
        return {};
    return valueAt({plan.timeS, joint->nominalC}, atS);
}

std::string headOf(const HeatPlan& plan)
{
    std::string text;
    if (plan.ofHeats > 1)
        text = "Heat " + std::to_string(plan.heat) + " of " + std::to_string(plan.ofHeats) + ": ";
    text += inWords(plan.sheet.heat) + " at " + sitesInWords(plan.sheet.targets());
    if (plan.sheet.heat == HeatKind::Swap)
        text += ", " + inWords(plan.sheet.way);
    return text + "; plate: " + plan.sheet.plate.name + ", from " + millimetres(plan.sheet.plateStartMm) +
           ".";
}

void printStages(std::ostream& out, const HeatPlan& plan)
{
    out << "  stage            from          to   joint at its end (est.)\n";
    for (const Stage& stage : plan.stages) {
        const auto endC = stage.endS <= plan.timeS.back() + 1 ? jointAt(plan, stage.endS) : std::nullopt;
        out << "  " << padded(stage.name, 11)
            << QString::fromStdString(clockInWords(stage.startS)).rightJustified(10).toStdString()
            << QString::fromStdString(clockInWords(stage.endS)).rightJustified(12).toStdString() << "   "
            << (endC ? rounded(*endC) + " °C" : "") << '\n';
    }
    const double hottestC = *std::max_element(plan.plateC.begin(), plan.plateC.end());
    printWrapped(out, "  ",
                 "Heater off at " + clockInWords(plan.heaterOffS) + "; plate at most " + rounded(hottestC) +
                     " °C, trips at " + rounded(plan.tripAboveC) + " °C.");
    const auto work = handWorkOf(plan.sheet);
    if (work && plan.hands && plan.hands->sureFromS)
        printWrapped(out, "  ", handsNeedText(*work, *plan.hands->sureFromS));
    for (const NewLed& led : plan.newLeds)
        printWrapped(out, "  ",
                     "New LED at site " + std::to_string(led.site) + ": set down at " +
                         clockInWords(led.setDownS) + ", steps " + rounded(led.stepK) +
                         " K, its solder liquid " +
                         (led.liquidAfterS
                              ? "after " + QString::number(*led.liquidAfterS, 'f', 1).toStdString() + " s."
                              : "no more: it does not wet."));
}

void printCards(std::ostream& out, const HeatPlan& plan)
{
    out << "  For the hands:\n";
    const size_t clockWidth = clockInWords(plan.timeS.back()).size() > 7 ? 11 : 7; // in hours
    for (const HandCard& card : plan.cards)
        if (card.comesByTime())
            printWrapped(out, "  " + padded(card.atS < 0 ? "before" : clockInWords(card.atS), clockWidth),
                         card.text);
}

void printPasses(std::ostream& out, const HeatPlan& plan)
{
    std::map<std::pair<int, int>, std::vector<int>> sites; // after, allowed
    for (const SitePasses& one : plan.passes)
        if (one.inThisHeat > 0)
            sites[{one.after, one.allowed}].push_back(one.site);
    for (const auto& [count, which] : sites)
        printWrapped(out, "  ",
                     "Passes: " + sitesInWords(which) + (which.size() == 1 ? " melts" : " melt") + "; then " +
                         std::to_string(count.first) + " of " + std::to_string(count.second) + " allowed.");
}

std::string placeMoved(const BenchSheet& sheet, const HeatPlan& plan)
{
    std::vector<int> beyond;
    for (const int site : plan.sheet.targets()) {
        const double xMm = sheet.strip.siteXMm.at(static_cast<size_t>(site - 1));
        if (xMm < sheet.plateStartMm || xMm > sheet.plateEndMm())
            beyond.push_back(site);
    }
    return "The plate's start is moved from the sheet's " + millimetres(sheet.plateStartMm) + " to " +
           millimetres(plan.sheet.plateStartMm) +
           (beyond.empty()
                ? ": not all of the job's sites can be done from there at once, and this heat's "
                  "come out best from here."
                : ": from the sheet's place the plate does not reach " + sitesInWords(beyond) + ".");
}

/// What the planner has changed of the sheet, and what of it this heat does not use.
void printChanges(std::ostream& out, const BenchSheet& sheet, const HeatPlan& plan)
{
    constexpr double shownMm = 0.05;
    if (std::abs(plan.sheet.plateStartMm - sheet.plateStartMm) >= shownMm)
        printWrapped(out, "  ", placeMoved(sheet, plan));
    if (plan.sheet.heat == HeatKind::Swap && !plan.sheet.usesFreshSolder() && !plan.sheet.targets().empty())
        printWrapped(out, "  ",
                     "The sheet's paste (" + plan.sheet.paste.name +
                         ") is not used: the new joint is of the solder that the old LED leaves.");
}

void printTightest(std::ostream& out, const HeatPlan& plan)
{
    constexpr size_t tightest = 5;
    size_t kept = 0;
    printWrapped(out, "  ",
                 "Limits (--all for every one, and for the trade habits that are kept): " +
                     orderOfLimitsText().toStdString() + ".");
    for (const MarginRow& row : plan.margins) {
        const bool broken = row.margin < 0;
        if (!broken && (row.limit.habit || kept++ >= tightest))
            continue;
        printWrapped(out,
                     "  " + padded(marginText(row.limit, row.margin).toStdString(), 11) +
                         (broken ? row.limit.habit ? "~ " : "x " : "  "),
                     (broken ? "" : padded(shareText(row).toStdString(), 5) + " ") + row.limit.what +
                         (row.limit.habit ? " (trade habit)" : "") + ": " + spanText(row).toStdString() +
                         ", " + allowedText(row.limit).toStdString());
    }
}

} // namespace

void printJob(std::ostream& out, const BenchSheet& sheet, const JobPlan& job,
              const std::vector<std::string>& files, bool all)
{
    printWrapped(out, "", sheet.title);
    printWrapped(out, "", verdictOf(job).toStdString());
    for (size_t i = 0; i < job.heats.size(); ++i) {
        const HeatPlan& plan = job.heats[i];
        out << '\n';
        if (!plan.sheet.targets().empty())
            printWrapped(out, "", capital(headOf(plan)));
        if (job.heats.size() > 1)
            printWrapped(out, "  ", verdictOf(plan).toStdString());
        printChanges(out, sheet, plan);
        if (!plan.timeS.empty() && !plan.stages.empty()) {
            printStages(out, plan);
            printCards(out, plan);
            printPasses(out, plan);
        }
        if (!files.empty())
            printWrapped(out, "  ", "Written: " + inOnePiece(files[i]));
        for (const std::string& refusal : plan.refusals)
            printWrapped(out, "  refused: ", refusal);
        for (const std::string& warning : plan.warnings)
            printWrapped(out, "  warning: ", warning);
        if (!plan.margins.empty()) {
            if (all) {
                printWrapped(out, "", "Limits: " + orderOfLimitsText().toStdString() + ".");
                printMargins(out, plan.margins);
            } else {
                printTightest(out, plan);
            }
        }
    }
    const std::vector<Suggestion>& suggestions = job.heats.front().suggestions;
    const bool refused = job.refused();
    if (!suggestions.empty() || refused)
        out << "\nWhat would help:\n";
    if (refused)
        printWrapped(out, "- ",
                     "What the refusal says, changed in the sheet." +
                         std::string(suggestions.empty() ? "" : " Or, planned again as a whole:"));
    if (!suggestions.empty())
        printWrapped(out, "", capital(quickSearchText().toStdString()) + ".");
    for (const Suggestion& suggestion : suggestions)
        printWrapped(out, "- ", suggestion.what);
}

std::string costOfRanges(const JobPlan& job, const JobPlan& asThoughKnown)
{
    const auto tightest = [](const JobPlan& of) {
        const MarginRow* found = nullptr;
        for (const HeatPlan& plan : of.heats)
            for (const MarginRow& row : plan.margins)
                if (!row.limit.habit && (!found || row.normalisedMargin < found->normalisedMargin))
                    found = &row;
        return found ? found->limit.what + ", " + marginText(found->limit, found->margin).toStdString()
                     : std::string("nothing");
    };
    const auto heatedS = [](const JobPlan& of) {
        double sum = 0;
        for (const HeatPlan& plan : of.heats)
            sum += plan.heaterOffS;
        return sum;
    };
    const auto instead = [](const std::string& known, const std::string& now) {
        return known + (known == now ? ", as now" : ", instead of " + now);
    };
    return "Were contact, films, room, core and plate exactly as the sheet states them, the tightest limit "
           "would be " +
           instead(tightest(asThoughKnown), tightest(job)) + "; the heater would be on for " +
           instead(clockInWords(heatedS(asThoughKnown)), clockInWords(heatedS(job))) + ".";
}

} // namespace stripwright
