#include "planner/what_if.h"

#include "planner/heat_kinds.h"
#include "planner/levers.h"
#include "planner/margin_words.h"
#include "rules/passes.h"
#include "rules/wording.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <future>
#include <limits>
#include <set>
#include <thread>
#include <tuple>
#include <utility>

namespace stripwright {

namespace {

constexpr double worthwhile = 0.02; // of a worst margin; less is the search's own scatter

/// What counts of a sheet's heats: the lenses that all of them keep, and the worst of all else.
struct Outcome {
    std::set<int> kept, lost;
    double worst = std::numeric_limits<double>::infinity();
    std::optional<MarginRow> tightest;
    size_t broken = 0;  ///< Limits, lenses' included.
    int pastPasses = 0; ///< LEDs taken past the passes that their data allow.
    size_t heats = 0;
};

Outcome outcomeOf(const BenchSheet& sheet, const std::vector<HeatAnswer>& heats)
{
    Outcome outcome{.heats = heats.size()};
    for (const HeatAnswer& heat : heats)
        for (int site : lostLenses(heat.answer.margins))
            outcome.lost.insert(site);
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site)
        if (sheet.lensStaysOn(site) && !outcome.lost.count(site))
            outcome.kept.insert(site);
    std::set<int> past;
    for (const HeatAnswer& heat : heats) {
        for (const MarginRow& row : heat.answer.margins) {
            outcome.broken += !row.limit.habit && row.margin < 0;
            if (!row.limit.habit && !outcome.lost.count(lensSiteOf(row.limit)) &&
                row.normalisedMargin < outcome.worst) {
                outcome.worst = row.normalisedMargin;
                outcome.tightest = row;
            }
        }
        for (const SitePasses& one : passesOf(heat.sheet, jointPeaksOf(heat.sheet, heat.answer.predictions)))
            if (one.inThisHeat > 0 && one.after > one.allowed)
                past.insert(one.site);
    }
    outcome.pastPasses = static_cast<int>(past.size());
    return outcome;
}

/// Hottest a lens's glue gets in any scenario.
std::optional<double> hottestGlueC(const std::vector<HeatAnswer>& heats, int site)
{
    std::optional<double> hottest;
    for (const HeatAnswer& heat : heats)
        for (const MarginRow& row : heat.answer.margins)
            if (lensSiteOf(row.limit) == site && row.limit.station.kind == StationKind::Glue)
                hottest = std::max({hottest.value_or(0), row.low.value_or(0), row.high.value_or(0)});
    return hottest;
}

std::string tightestInWords(const Outcome& outcome)
{
    return outcome.tightest ? marginInWords(*outcome.tightest) : "nothing";
}

std::string lensesOf(const std::vector<int>& sites)
{
    return (sites.size() == 1 ? "lens " : "lenses ") + siteList(sites);
}

std::string lensesInWords(const std::vector<int>& sites, const std::vector<HeatAnswer>& before,
                          const std::vector<HeatAnswer>& after)
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

std::string inWords(const Lever& lever, const Outcome& before, const Outcome& after,
                    const std::vector<HeatAnswer>& base, const std::vector<HeatAnswer>& changed)
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
    else if (after.broken < before.broken && after.worst > before.worst - worthwhile)
        also("better, not enough, " + std::to_string(after.broken) + " of " + std::to_string(before.broken) +
             " broken limits stay: " + tightestInWords(after));
    else
        also((after.worst > before.worst + worthwhile   ? "better, not enough: "
              : after.worst < before.worst - worthwhile ? "worse: "
                                                        : "no difference: ") +
             tightestInWords(after));
    if (after.heats != before.heats)
        also(after.heats == 1 ? "in one heat" : "in " + std::to_string(after.heats) + " heats");
    if (after.pastPasses != before.pastPasses)
        also((after.pastPasses == 0 ? std::string("no") : std::to_string(after.pastPasses)) +
             (after.pastPasses > 1 ? " LEDs go past the passes their" : " LED goes past the passes its") +
             " data allow");
    if (lever.id == "lens-off")
        also("take off by a release heat or by cutting the glue first, glue on again after");
    return capital(lever.what) + ": " + effect + ".";
}

/// Whether the heats of another sheet may begin where these ended.
bool alike(const BenchSheet& a, const BenchSheet& b)
{
    return a.paste.id == b.paste.id && a.heat == b.heat && a.way == b.way;
}

struct Tried {
    WhatIf whatIf;
    bool runs = false; ///< With lost lenses off.
};

/// A job of several heats takes long to be planned anew: not for a change that neither helps its worst heat
/// nor gives the hands time to do more sites in one.
std::optional<Outcome> noHelpWhereItIsWorst(const Lever& lever, const BenchSheet& changedSheet,
                                            const std::vector<HeatAnswer>& base)
{
    const HeatKind first = base.front().sheet.heat;
    const auto heats =
        std::ranges::count_if(base, [&](const HeatAnswer& heat) { return heat.sheet.heat == first; });
    if (std::cmp_less(heatsForHands(changedSheet, first), heats))
        return {};
    const auto worst =
        std::min_element(base.begin(), base.end(), [](const HeatAnswer& a, const HeatAnswer& b) {
            return worthOf(a.answer) < worthOf(b.answer);
        });
    std::vector<HeatAnswer> changed{{lever.on(worst->sheet), {}}};
    changed.front().answer = searchShape(taskOf(changed.front().sheet), {.quick = true});
    Worth more = worthOf(worst->answer);
    more.worst += worthwhile;
    const Worth after = worthOf(changed.front().answer);
    if (more < after || after.lensesLost < more.lensesLost)
        return {};
    return outcomeOf(changed.front().sheet, changed);
}

Tried tried(const Lever& lever, const BenchSheet& sheet, const std::vector<HeatAnswer>& base,
            const Outcome& before)
{
    Tried result{{.lever = lever.id, .what = {}, .sheet = lever.on(sheet)}};
    WhatIf& whatIf = result.whatIf;
    const std::vector<std::string> refusals = refusalsOf(whatIf.sheet);
    const bool splitsAnyway =
        base.size() > 1 && !refusals.empty() && rulesOf(whatIf.sheet.heat).refusals(whatIf.sheet).empty();
    if (!refusals.empty() && !splitsAnyway) {
        whatIf.refused = true;
        whatIf.worstMargin = -std::numeric_limits<double>::infinity();
        whatIf.what = capital(lever.what) + ": " + refusals.front();
        return result;
    }
    const bool baseRefused = std::any_of(
        base.begin(), base.end(), [](const HeatAnswer& heat) { return !refusalsOf(heat.sheet).empty(); });
    const bool sameHeats = whatIf.sheet.plate == sheet.plate &&
                           whatIf.sheet.plateStartMm == sheet.plateStartMm &&
                           whatIf.sheet.heat == sheet.heat && whatIf.sheet.way == sheet.way;
    if (base.size() > 1 && sameHeats && !baseRefused && lever.id != "lens-off")
        if (const auto outcome = noHelpWhereItIsWorst(lever, whatIf.sheet, base)) {
            whatIf.lensesThatStay = static_cast<int>(before.kept.size());
            whatIf.ledsPastPasses = before.pastPasses;
            whatIf.worstMargin = std::min(before.worst, outcome->worst);
            whatIf.heats = static_cast<int>(base.size());
            whatIf.what =
                capital(lever.what) + ": no help where it is worst: " + tightestInWords(*outcome) + ".";
            return result;
        }
    SearchStart start{.quick = true};
    if (alike(whatIf.sheet, sheet) && base.size() == 1)
        start.shape = base.front().answer.shape;
    std::vector<HeatAnswer> changed = answerJob(whatIf.sheet, start, base);
    Outcome after = outcomeOf(whatIf.sheet, changed);
    constexpr double nearlyKept = -0.6; // what a whole search may still gain
    if (base.size() == 1 && after.worst < 0 && after.worst > nearlyKept) {
        changed = answerJob(whatIf.sheet, {}, base);
        after = outcomeOf(whatIf.sheet, changed);
    }
    whatIf.lensesThatStay = static_cast<int>(after.kept.size());
    whatIf.worstMargin = after.worst;
    whatIf.ledsPastPasses = after.pastPasses;
    whatIf.heats = static_cast<int>(after.heats);
    for (int site : after.lost)
        whatIf.sheet.sites[static_cast<size_t>(site - 1)].lens =
            sheet.heat == HeatKind::Release ? LensState::Release : LensState::Off;
    whatIf.what = inWords(lever, before, after, base, changed);
    result.runs = after.worst >= 0;
    const bool mends = (before.worst < 0 || !before.lost.empty()) && after.worst >= 0 && after.lost.empty();
    // A lens that stays because the joint is not made is no help.
    const bool jobStands = after.worst >= std::min(0.0, before.worst - worthwhile);
    const bool spendsMore = after.pastPasses > before.pastPasses;
    whatIf.helps =
        mends || (jobStands && after.kept.size() > before.kept.size()) ||
        (!spendsMore && after.kept.size() == before.kept.size() && after.worst > before.worst + worthwhile) ||
        (jobStands && before.worst < 0 && after.broken < before.broken) ||
        (!spendsMore && after.worst >= 0 && after.kept.size() >= before.kept.size() &&
         after.heats < before.heats);
    return result;
}

std::vector<Tried> triedOnAllCores(const std::vector<Lever>& levers, const BenchSheet& sheet,
                                   const std::vector<HeatAnswer>& base, const Outcome& before)
{
    std::vector<Tried> results(levers.size());
    std::atomic<size_t> next = 0;
    const auto work = [&] {
        for (size_t i = next++; i < levers.size(); i = next++)
            results[i] = tried(levers[i], sheet, base, before);
    };
    std::vector<std::future<void>> workers;
    for (unsigned i = 0; i < std::max(1u, std::thread::hardware_concurrency()); ++i)
        workers.push_back(std::async(std::launch::async, work));
    for (auto& worker : workers)
        worker.get();
    return results;
}

/// Of each lever the best that it can do, the best few of them two by two.
std::vector<Lever> pairsOf(const std::vector<Lever>& levers, const std::vector<Tried>& results)
{
    constexpr size_t most = 4;
    std::vector<size_t> order;
    for (size_t i = 0; i < levers.size(); ++i)
        if (!results[i].whatIf.refused && levers[i].id != "lens-off")
            order.push_back(i);
    std::stable_sort(order.begin(), order.end(), [&](size_t a, size_t b) {
        return results[a].whatIf.worstMargin > results[b].whatIf.worstMargin;
    });
    std::vector<size_t> best;
    std::set<std::string> ids;
    for (const size_t i : order)
        if (best.size() < most && ids.insert(levers[i].id).second)
            best.push_back(i);
    std::vector<Lever> pairs;
    for (size_t a = 0; a < best.size(); ++a)
        for (size_t b = a + 1; b < best.size(); ++b) {
            const Lever first = levers[best[a]], second = levers[best[b]];
            pairs.push_back(
                {first.id + "+" + second.id, first.what + ", and " + second.what, [=](BenchSheet& sheet) {
                     first.change(sheet);
                     second.change(sheet);
                 }});
        }
    return pairs;
}

} // namespace

WhatIfAnswer whatIf(const BenchSheet& sheet, const Shelf& shelf)
{
    return hasHeatsToAnswer(sheet) ? whatIf(sheet, shelf, answerJob(sheet)) : WhatIfAnswer();
}

WhatIfAnswer whatIf(const BenchSheet& stated, const Shelf& shelf, const std::vector<HeatAnswer>& base)
{
    if (base.empty())
        return {};
    // Changes are told from where the plan has the plate, if that is one place.
    BenchSheet sheet = stated;
    const double placeMm = base.front().sheet.plateStartMm;
    if (placeMm != sheet.plateStartMm &&
        std::ranges::all_of(base, [&](const HeatAnswer& heat) { return heat.sheet.plateStartMm == placeMm; }))
        sheet.movePlateTo(placeMm);
    const Outcome before = outcomeOf(sheet, base);
    const std::vector<Lever> levers = leversOf(sheet, shelf, base);
    std::vector<Tried> results = triedOnAllCores(levers, sheet, base, before);
    const bool oneIsEnough = before.worst >= 0 || std::any_of(results.begin(), results.end(),
                                                              [](const Tried& one) { return one.runs; });
    if (!oneIsEnough)
        for (Tried& pair : triedOnAllCores(pairsOf(levers, results), sheet, base, before))
            if (pair.runs)
                results.push_back(std::move(pair));
    WhatIfAnswer answer{static_cast<int>(before.kept.size()), before.worst, {}};
    for (Tried& one : results)
        answer.levers.push_back(std::move(one.whatIf));

    // Lenses that are lost come off in any case; then a heat that can be run, LEDs spent, the lenses it
    // keeps, the heats it takes, its room.
    std::stable_sort(answer.levers.begin(), answer.levers.end(), [&](const WhatIf& a, const WhatIf& b) {
        const auto rank = [&](const WhatIf& one) {
            return std::tuple(!one.refused, one.lever == "lens-off" && !before.lost.empty(),
                              one.worstMargin >= 0, -one.ledsPastPasses, one.lensesThatStay,
                              one.worstMargin >= 0 ? -one.heats : 0, one.worstMargin);
        };
        return rank(a) > rank(b);
    });
    return answer;
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
