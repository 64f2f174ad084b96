#include "planner/what_if.h"

#include "planner/levers.h"
#include "planner/plan_sheet.h"
#include "search/shape_search.h"
#include "rules/wording.h"
#include "rules/sheet_rules.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <future>
#include <limits>
#include <set>
#include <thread>
#include <tuple>

namespace stripwright {

namespace {

constexpr double worthwhile = 0.02; // of a worst margin; less is the search's own scatter

/// What counts of an answer: the lenses it keeps, and the worst of all else.
struct Outcome {
    std::set<int> kept, lost;
    double worst = std::numeric_limits<double>::infinity();
    std::optional<MarginRow> tightest;
};

Outcome outcomeOf(const BenchSheet& sheet, const Answer& answer)
{
    Outcome outcome;
    for (int site : lostLenses(answer.margins))
        outcome.lost.insert(site);
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site)
        if (sheet.lensStaysOn(site) && !outcome.lost.count(site))
            outcome.kept.insert(site);
    for (const MarginRow& row : answer.margins)
        if (!row.limit.habit && !outcome.lost.count(lensSiteOf(row.limit)) &&
            row.normalisedMargin < outcome.worst) {
            outcome.worst = row.normalisedMargin;
            outcome.tightest = row;
        }
    return outcome;
}

// Of two heats a lens must stand both, and the tighter one counts.
void takeWorse(Answer& answer, Outcome& outcome, Answer second, const BenchSheet& secondSheet)
{
    Outcome other = outcomeOf(secondSheet, second);
    for (int site : other.lost) {
        outcome.kept.erase(site);
        outcome.lost.insert(site);
    }
    if (other.worst < outcome.worst) {
        other.lost.insert(outcome.lost.begin(), outcome.lost.end());
        other.kept = outcome.kept;
        answer = std::move(second);
        outcome = std::move(other);
    }
}

/// Hottest a lens's glue gets in any scenario.
std::optional<double> hottestGlueC(const Answer& answer, int site)
{
    for (const MarginRow& row : answer.margins)
        if (row.limit.id == "glue_" + std::to_string(site) + "/peak" ||
            row.limit.id == "glue_" + std::to_string(site) + "/peak_habit")
            return std::max({row.low.value_or(0), row.high.value_or(0), row.warmAir.value_or(0)});
    return {};
}

std::string withSign(const MarginRow& row)
{
    const std::string unit = row.limit.unit();
    char text[32];
    std::snprintf(text, sizeof text, unit == "K/s" ? "%+.2f" : "%+.1f", row.margin);
    return text + (" " + (unit == "°C" ? std::string("K") : unit));
}

std::string tightestInWords(const Outcome& outcome)
{
    return outcome.tightest ? outcome.tightest->limit.what + " " + withSign(*outcome.tightest) : "nothing";
}

std::string lensesOf(const std::vector<int>& sites)
{
    return (sites.size() == 1 ? "lens " : "lenses ") + siteList(sites);
}

std::string lensesInWords(const std::vector<int>& sites, const Answer& before, const Answer& after)
{
    std::string text = lensesOf(sites);
    int hottest = sites.front();
    for (int site : sites)
        if (hottestGlueC(before, site).value_or(0) > hottestGlueC(before, hottest).value_or(0))
            hottest = site;
    const auto from = hottestGlueC(before, hottest), to = hottestGlueC(after, hottest);
    text += sites.size() == 1 ? " stays" : " stay";
    if (from && to)
        text += " (" + (sites.size() == 1 ? "" : "lens " + std::to_string(hottest) + " ") +
                std::to_string(std::lround(*from)) + " to " + std::to_string(std::lround(*to)) + " °C)";
    return text;
}

std::string inWords(const Lever& lever, const Outcome& before, const Outcome& after, const Answer& base,
                    const Answer& changed)
{
    std::vector<int> saved, newlyLost;
    for (int site : after.kept)
        if (before.lost.count(site))
            saved.push_back(site);
    for (int site : after.lost)
        if (before.kept.count(site))
            newlyLost.push_back(site);
    std::string effect;
    const auto also = [&](const std::string& more) { effect += (effect.empty() ? "" : "; ") + more; };
    if (!saved.empty())
        also(lensesInWords(saved, base, changed));
    if (!newlyLost.empty())
        also(lensesOf(newlyLost) + " would be lost");
    if (after.worst >= 0 && after.lost.empty())
        also((before.worst < 0 || !before.lost.empty() ? "every limit is kept, tightest "
                                                       : "every limit is kept still, tightest ") +
             tightestInWords(after));
    else if (after.worst >= 0)
        also("with lenses off at " + sitesInWords({after.lost.begin(), after.lost.end()}) +
             ", every limit is kept, tightest " + tightestInWords(after));
    else
        also((after.worst > before.worst + worthwhile   ? "better, not enough: "
              : after.worst < before.worst - worthwhile ? "worse: "
                                                        : "no difference: ") +
             tightestInWords(after));
    return capital(lever.what) + ": " + effect + ".";
}

WhatIf tried(const Lever& lever, const BenchSheet& sheet, const Answer& base, const Outcome& before)
{
    WhatIf whatIf{.lever = lever.id, .what = {}, .sheet = lever.sheet};
    std::vector<std::string> refusals = refusalsOf(lever.sheet);
    if (refusals.empty() && lever.second)
        refusals = refusalsOf(*lever.second);
    if (!refusals.empty()) {
        whatIf.refused = true;
        whatIf.worstMargin = -std::numeric_limits<double>::infinity();
        whatIf.what = capital(lever.what) + ": " + refusals.front();
        return whatIf;
    }
    const bool alike = lever.sheet.paste.id == sheet.paste.id && lever.sheet.heat == sheet.heat;
    Answer changed =
        searchShape(lever.sheet, {alike ? std::optional(base.shape) : std::optional<Shape>(), true});
    Outcome after = outcomeOf(lever.sheet, changed);
    if (lever.second)
        takeWorse(changed, after, searchShape(*lever.second, {{}, true}), *lever.second);
    whatIf.lensesThatStay = static_cast<int>(after.kept.size());
    whatIf.worstMargin = after.worst;
    for (int site : after.lost)
        whatIf.sheet.sites[site - 1].lens =
            sheet.heat == HeatKind::Release ? LensState::Release : LensState::Off;
    whatIf.what = inWords(lever, before, after, base, changed);
    const bool mends = (before.worst < 0 || !before.lost.empty()) && after.worst >= 0 && after.lost.empty();
    // A lens that stays because the joint is not made is no help.
    const bool jobStands = after.worst >= std::min(0.0, before.worst - worthwhile);
    whatIf.helps = mends || (jobStands && after.kept.size() > before.kept.size()) ||
                   (after.kept.size() == before.kept.size() && after.worst > before.worst + worthwhile);
    return whatIf;
}

} // namespace

WhatIfAnswer whatIf(const BenchSheet& sheet, const Shelf& shelf)
{
    if (sheet.targets().empty() || sheet.heat == HeatKind::Bake)
        return {};
    const Answer base = searchShape(sheet, {{}, true});
    const Outcome before = outcomeOf(sheet, base);
    const std::vector<Lever> levers = leversOf(sheet, shelf, base);
    WhatIfAnswer result{static_cast<int>(before.kept.size()), before.worst, {}};
    result.levers.resize(levers.size());
    std::atomic<size_t> next = 0;
    const auto work = [&] {
        for (size_t i = next++; i < levers.size(); i = next++)
            result.levers[i] = tried(levers[i], sheet, base, before);
    };
    std::vector<std::future<void>> workers;
    for (unsigned i = 0; i < std::max(1u, std::thread::hardware_concurrency()); ++i)
        workers.push_back(std::async(std::launch::async, work));
    for (auto& worker : workers)
        worker.get();

    // Lenses that are lost come off in any case; then a heat that can be run, the lenses it keeps, its room.
    std::stable_sort(result.levers.begin(), result.levers.end(), [&](const WhatIf& a, const WhatIf& b) {
        const auto rank = [&](const WhatIf& one) {
            return std::tuple(!one.refused, one.lever == "lens-off" && !before.lost.empty(),
                              one.worstMargin >= 0, one.lensesThatStay, one.worstMargin);
        };
        return rank(a) > rank(b);
    });
    return result;
}

std::vector<Suggestion> helpful(const WhatIfAnswer& answer)
{
    std::vector<Suggestion> suggestions;
    for (const WhatIf& one : answer.levers)
        if (one.helps && !one.refused)
            suggestions.push_back({one.what, one.sheet});
    return suggestions;
}

} // namespace stripwright
