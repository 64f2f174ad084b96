#include "commands/plan_text.h"

#include "commands/margins.h"
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

namespace stripwright {

namespace {

constexpr qsizetype columns = 80;

std::string clock(double seconds)
{
    const long whole = std::lround(seconds);
    char text[32];
    std::snprintf(text, sizeof text, "%ld:%02ld", whole / 60, whole % 60);
    return text;
}

std::string padded(const std::string& text, size_t width)
{
    return QString::fromStdString(text).leftJustified(static_cast<qsizetype>(width)).toStdString();
}

/// Nominal temperature of a target's joint; none where the plan has no curve.
std::optional<double> jointAt(const HeatPlan& plan, double atS)
{
    const std::vector<int> targets = plan.sheet.targets();
    const PlanCurve* joint =
        targets.empty() ? nullptr : curveOf(plan, "joint_" + std::to_string(targets.front()));
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
    return text + "; plate from " + millimetres(plan.sheet.plateStartMm) + ".";
}

void printStages(std::ostream& out, const HeatPlan& plan)
{
    out << "  stage        from      to   joint at its end (est.)\n";
    for (const Stage& stage : plan.stages) {
        const auto endC = stage.endS <= plan.timeS.back() + 1 ? jointAt(plan, stage.endS) : std::nullopt;
        out << "  " << padded(stage.name, 11)
            << QString::fromStdString(clock(stage.startS)).rightJustified(6).toStdString()
            << QString::fromStdString(clock(stage.endS)).rightJustified(8).toStdString() << "   "
            << (endC ? rounded(*endC) + " °C" : "") << '\n';
    }
    const double hottestC = *std::max_element(plan.plateC.begin(), plan.plateC.end());
    printWrapped(out, "  ",
                 "Heater off at " + clock(plan.heaterOffS) + "; plate at most " + rounded(hottestC) +
                     " °C, trips at " + rounded(plan.tripAboveC) + " °C.");
    const auto work = handWorkOf(plan.sheet);
    if (work && plan.hands && plan.hands->sureFromS)
        printWrapped(out, "  ",
                     "Hands need " + rounded(work->needS()) + " s from " + clock(*plan.hands->sureFromS) +
                         ", when every joint is surely liquid.");
    for (const NewLed& led : plan.newLeds)
        printWrapped(out, "  ",
                     "New LED at site " + std::to_string(led.site) + ": set down at " + clock(led.setDownS) +
                         ", steps " + rounded(led.stepK) + " K, its solder liquid " +
                         (led.liquidAfterS
                              ? "after " + QString::number(*led.liquidAfterS, 'f', 1).toStdString() + " s."
                              : "no more: it does not wet."));
}

void printCards(std::ostream& out, const HeatPlan& plan)
{
    out << "  For the hands:\n";
    for (const HandCard& card : plan.cards)
        if (card.comesByTime())
            printWrapped(out, "  " + padded(card.atS < 0 ? "before" : clock(card.atS), 7), card.text);
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

void printTightest(std::ostream& out, const HeatPlan& plan)
{
    constexpr size_t tightest = 5;
    size_t kept = 0;
    out << "  Limits, broken and tightest (--all for every one):\n";
    for (const MarginRow& row : plan.margins) {
        const bool broken = row.margin < 0;
        if (!broken && (row.limit.habit || kept++ >= tightest))
            continue;
        printWrapped(out,
                     "  " + padded(marginText(row.limit, row.margin).toStdString(), 11) +
                         (broken ? row.limit.habit ? "~ " : "x " : "  "),
                     row.limit.what + (row.limit.habit ? " (trade habit)" : "") + ": " +
                         spanText(row).toStdString() + ", " + allowedText(row.limit).toStdString());
    }
}

} // namespace

void printWrapped(std::ostream& out, const std::string& lead, const std::string& text)
{
    const QString indent(QString::fromStdString(lead).size(), ' ');
    QString line = QString::fromStdString(lead);
    bool bare = true;
    for (const QString& word : QString::fromStdString(text).split(' ')) {
        if (!bare && line.size() + 1 + word.size() > columns) {
            out << line.toStdString() << '\n';
            line = indent;
            bare = true;
        }
        line += (bare ? QString() : QStringLiteral(" ")) + word;
        bare = false;
    }
    out << line.toStdString() << '\n';
}

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
        if (!plan.timeS.empty() && !plan.stages.empty()) {
            printStages(out, plan);
            printCards(out, plan);
            printPasses(out, plan);
        }
        if (!files.empty())
            printWrapped(out, "  ", "Written: " + files[i]);
        for (const std::string& refusal : plan.refusals)
            printWrapped(out, "  refused: ", refusal);
        for (const std::string& warning : plan.warnings)
            printWrapped(out, "  warning: ", warning);
        if (!plan.margins.empty()) {
            if (all)
                printMargins(out, plan.margins);
            else
                printTightest(out, plan);
        }
    }
    const std::vector<Suggestion>& suggestions = job.heats.front().suggestions;
    if (!suggestions.empty())
        out << "\nWhat would help:\n";
    for (const Suggestion& suggestion : suggestions)
        printWrapped(out, "- ", suggestion.what);
}

} // namespace stripwright
