#include "planner/job_plan.h"

#include "planner/heat_kinds.h"
#include "planner/margin_words.h"
#include "planner/plan_sheet.h"
#include "rules/hands.h"
#include "rules/passes.h"
#include "rules/placements.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace stripwright {

namespace {

using Sites = std::vector<int>;

bool onPlate(const BenchSheet& sheet, int site)
{
    const double x = sheet.strip.siteXMm[static_cast<size_t>(site - 1)];
    return x >= sheet.plateStartMm && x <= sheet.plateEndMm();
}

bool allOnPlate(const BenchSheet& sheet, const Sites& sites)
{
    return std::all_of(sites.begin(), sites.end(), [&](int site) { return onPlate(sheet, site); });
}

/// The strip as it lies in one heat: `now` is done in it, of the other marked sites those not in `done` wait.
BenchSheet sheetOfHeat(BenchSheet sheet, HeatKind kind, const Sites& now, const std::set<int>& done)
{
    sheet.heat = kind;
    if (kind != HeatKind::Swap)
        sheet.way = SwapWay::SolderLeft; // only a swap has one
    for (SiteOnBench& here : sheet.sites) {
        if (here.state == SiteState::Good)
            continue;
        here.lens = LensState::Off;
        here.refitted = done.count(here.site) > 0;
        here.state = std::find(now.begin(), now.end(), here.site) != now.end() ? SiteState::Replace
                     : done.count(here.site)                                   ? SiteState::Good
                                                                               : SiteState::Later;
    }
    return sheet;
}

bool blocksClear(const BenchSheet& sheet)
{
    return std::all_of(sheet.sinkBlocks.begin(), sheet.sinkBlocks.end(), [&](const PlacedSinkBlock& placed) {
        return placed.startMm + placed.block.lengthMm <= sheet.plateStartMm ||
               placed.startMm >= sheet.plateEndMm();
    });
}

bool blocksClearAt(BenchSheet sheet, double plateStartMm)
{
    sheet.movePlateTo(plateStartMm);
    return blocksClear(sheet);
}

/// The hands lay the plate by a scale, and at its very edge a joint is as the edge is.
bool clearOfEdges(const BenchSheet& sheet, const Sites& sites)
{
    constexpr double laidToMm = 3;
    return std::all_of(sites.begin(), sites.end(), [&](int site) {
        const double x = sheet.strip.siteXMm[static_cast<size_t>(site - 1)];
        return x >= sheet.plateStartMm + laidToMm && x <= sheet.plateEndMm() - laidToMm;
    });
}

/// Of a few places of the plate under these targets the one whose heat comes out best.
std::optional<double> bestPlaceMm(const BenchSheet& sheet)
{
    const PlacementPlan geometry = placementsFor(sheet);
    const Sites targets = sheet.targets();
    const double first = sheet.strip.siteXMm[static_cast<size_t>(targets.front() - 1)];
    const double last = sheet.strip.siteXMm[static_cast<size_t>(targets.back() - 1)];
    std::vector<double> places = {std::round((first + last - sheet.plate.lengthMm) / 2 * 2) / 2};
    if (geometry.placements.size() == 1)
        places.push_back(geometry.placements.front().plateStartMm);
    constexpr double asideMm = 12;
    for (const double byMm : {-asideMm, asideMm})
        places.push_back(places.front() + byMm);
    if (allOnPlate(sheet, targets))
        places.push_back(sheet.plateStartMm);
    struct Place {
        bool allowed = false, clear = false;
        Worth worth;
        bool operator<(const Place& better) const
        {
            return std::pair(allowed, clear) != std::pair(better.allowed, better.clear)
                       ? std::pair(allowed, clear) < std::pair(better.allowed, better.clear)
                       : worth < better.worth;
        }
    };
    std::optional<Place> best;
    std::optional<double> bestMm;
    for (const double placeMm : places) {
        BenchSheet tried = sheet;
        tried.movePlateTo(placeMm);
        const double underStripMm =
            std::min(tried.plateEndMm(), sheet.strip.lengthMm) - std::max(tried.plateStartMm, 0.0);
        if (underStripMm < 1 || !allOnPlate(tried, targets) || !blocksClear(tried))
            continue;
        const Place place{refusalsOf(tried).empty(), clearOfEdges(tried, targets),
                          worthOf(searchShape(taskOf(tried), {.quick = true}))};
        if (!best || *best < place) {
            best = place;
            bestMm = placeMm;
        }
    }
    return bestMm;
}

/// How many sites the hands can serve in these seconds; of one that is too much for all of them.
size_t sitesIn(const HandWork& work, double seconds)
{
    const double sites = std::floor((seconds - work.firstS - work.wettingS) / work.eachS);
    return std::clamp<size_t>(static_cast<size_t>(std::max(1.0, sites)), 1,
                              std::max<size_t>(work.sites.size(), 2) - 1);
}

/// How many sites the hands can serve in the liquid time that an answer has; none: they can serve all.
std::optional<size_t> mostByHands(const HeatAnswer& heat)
{
    const auto work = handWorkOf(heat.sheet);
    std::optional<size_t> most;
    for (const MarginRow& row : heat.answer.margins)
        if (work && row.limit.metric == Metric::LiquidForHands && row.margin < 0) {
            if (!row.low) // it never melts: fewer sites do not help
                return {};
            most = std::min(most.value_or(work->sites.size()), sitesIn(*work, *row.low));
        }
    return most;
}

/// How many sites may be done before an LED has been hot, or on its way there, for too long; none: no LED is.
std::optional<size_t> mostByBodies(const HeatAnswer& heat)
{
    const auto work = handWorkOf(heat.sheet);
    std::optional<size_t> most;
    for (const MarginRow& row : heat.answer.margins) {
        const bool ofTime = row.limit.metric == Metric::TimeAbove || row.limit.metric == Metric::TimeToPeak;
        const bool hotTooLong = ofTime && !row.limit.habit && row.margin < 0 &&
                                (row.limit.station.kind == StationKind::Body || aboutNewLed(row.limit));
        if (work && hotTooLong)
            most = std::min(most.value_or(work->sites.size()), sitesIn(*work, work->needS() + row.margin));
    }
    return most;
}

std::vector<Sites> inParts(const Sites& sites, size_t mostInOne)
{
    const size_t parts = (sites.size() + mostInOne - 1) / mostInOne;
    std::vector<Sites> all(parts);
    for (size_t i = 0; i < sites.size(); ++i)
        all[i * parts / sites.size()].push_back(sites[i]);
    return all;
}

class Job {
public:
    Job(const BenchSheet& sheet, const SearchStart& start, std::span<const HeatAnswer> like)
        : sheet_(sheet), start_(start), like_(like)
    {
    }

    /// Adds the heats of one kind that do these sites.
    void add(HeatKind kind, const Sites& sites)
    {
        done_.clear();
        const BenchSheet all = sheetOfHeat(sheet_, kind, sites, done_);
        if (allOnPlate(all, sites)) {
            addGroup(kind, sites, false);
            return;
        }
        const std::vector<Placement> placements = placementsFor(all).placements;
        for (size_t i = 0; i < placements.size(); ++i) {
            Sites group = placements[i].sites;
            Job next = with(kind, group);
            // placementsFor keeps off the edges as the poorest contact asks; the plate may do more at once.
            for (; i + 1 < placements.size(); ++i) {
                group.insert(group.end(), placements[i + 1].sites.begin(), placements[i + 1].sites.end());
                if (!fitOnPlate(group))
                    break;
                Job together = with(kind, group);
                const HeatAnswer& one = together.heats_.back();
                if (together.heats_.size() != heats_.size() + 1 || !worthOf(one.answer).done ||
                    !refusalsOf(one.sheet).empty() || !clearOfEdges(one.sheet, group) ||
                    together.lensesLostFrom(heats_.size()) > next.lensesLostFrom(heats_.size()))
                    break;
                next = std::move(together);
            }
            *this = std::move(next);
        }
    }

    std::vector<HeatAnswer> finished() { return std::move(heats_); }

private:
    Job with(HeatKind kind, const Sites& sites) const
    {
        Job job = *this;
        job.addGroup(kind, sites, true);
        return job;
    }

    int lensesLostFrom(size_t heat) const
    {
        int lost = 0;
        for (; heat < heats_.size(); ++heat)
            lost += worthOf(heats_[heat].answer).lensesLost;
        return lost;
    }

    bool fitOnPlate(const Sites& sites) const
    {
        const auto [first, last] = std::minmax_element(sites.begin(), sites.end());
        const std::vector<double>& x = sheet_.strip.siteXMm;
        return x[static_cast<size_t>(*last - 1)] - x[static_cast<size_t>(*first - 1)] <=
               sheet_.plate.lengthMm;
    }

    void addGroup(HeatKind kind, const Sites& sites, bool placeIsFree)
    {
        HeatAnswer heat{sheetOfHeat(sheet_, kind, sites, done_), {}};
        if (placeIsFree)
            if (const auto placeMm =
                    placeFor(heat.sheet)) // else it stays, and is refused where it does not reach
                heat.sheet.movePlateTo(*placeMm);
        heat.answer = searchShape(taskOf(heat.sheet), start_);
        // A fan that stands ready need not blow: cooled faster, the hands may be too slow, or a body falls
        // too fast.
        if (heat.sheet.cooling.fan && !worthOf(heat.answer).done) {
            HeatAnswer still = heat;
            still.sheet.cooling.fan = false;
            still.answer = searchShape(taskOf(still.sheet), start_);
            if (worthOf(heat.answer) < worthOf(still.answer))
                heat = std::move(still);
        }
        if (const auto most = mostByHands(heat); most && sites.size() > 1) {
            for (const Sites& part : inParts(sites, *most))
                addGroup(kind, part, true);
            return;
        }
        // LEDs that stay melt once more in each part: only parts that can all be done are worth it.
        if (const auto most = mostByBodies(heat); most && sites.size() > 1 && !worthOf(heat.answer).done) {
            Job apart = *this;
            for (const Sites& part : inParts(sites, *most))
                apart.addGroup(kind, part, true);
            if (std::all_of(apart.heats_.begin() + static_cast<long>(heats_.size()), apart.heats_.end(),
                            [](const HeatAnswer& one) { return worthOf(one.answer).done; })) {
                *this = std::move(apart);
                return;
            }
        }
        // The next heat begins with what this one leaves.
        for (const SitePasses& passes :
             passesOf(heat.sheet, jointPeaksOf(heat.sheet, heat.answer.predictions)))
            sheet_.sites[static_cast<size_t>(passes.site - 1)].passesBefore = passes.after;
        if (kind != HeatKind::Remove)
            done_.insert(sites.begin(), sites.end());
        heats_.push_back(std::move(heat));
    }

    std::optional<double> placeFor(const BenchSheet& heat) const
    {
        const auto alike = std::find_if(like_.begin(), like_.end(), [&](const HeatAnswer& one) {
            return one.sheet.heat == heat.heat && one.sheet.targets() == heat.targets() &&
                   one.sheet.plate == heat.plate && blocksClearAt(heat, one.sheet.plateStartMm);
        });
        return alike != like_.end() ? alike->sheet.plateStartMm : bestPlaceMm(heat);
    }

    BenchSheet sheet_;
    SearchStart start_;
    std::span<const HeatAnswer> like_;
    std::set<int> done_; ///< Sites with their new LED on.
    std::vector<HeatAnswer> heats_;
};

} // namespace

static bool isBroken(const MarginRow& row)
{
    return !row.limit.habit && row.margin < 0;
}

static std::string whyNot(const HeatPlan& plan)
{
    if (!plan.refusals.empty())
        return plan.refusals.front();
    const auto worst = std::find_if(plan.margins.begin(), plan.margins.end(), isBroken);
    if (worst == plan.margins.end())
        return "It has no plan.";
    const auto broken = std::count_if(plan.margins.begin(), plan.margins.end(), isBroken);
    return (broken == 1 ? "One limit is broken: "
                        : std::to_string(broken) + " limits are broken there. Worst: ") +
           marginInWords(*worst) + ".";
}

static const HeatPlan* stoppedFit(const JobPlan& job)
{
    const auto stopped = std::find_if(job.heats.begin(), job.heats.end(), [](const HeatPlan& plan) {
        return !plan.runnable && plan.sheet.heat == HeatKind::Fit;
    });
    return stopped == job.heats.end() ? nullptr : &*stopped;
}

bool JobPlan::waitsForFit(const HeatPlan& plan) const
{
    return plan.sheet.heat == HeatKind::Remove && stoppedFit(*this) && plan.refusals.size() == 1 &&
           std::none_of(plan.margins.begin(), plan.margins.end(), isBroken);
}

bool JobPlan::refused() const
{
    const bool fitStopped = stoppedFit(*this) != nullptr;
    return std::any_of(heats.begin(), heats.end(), [&](const HeatPlan& plan) {
        return plan.refusals.size() > (plan.sheet.heat == HeatKind::Remove && fitStopped ? 1u : 0u);
    });
}

bool JobPlan::runnable() const
{
    return std::all_of(heats.begin(), heats.end(), [](const HeatPlan& plan) { return plan.runnable; });
}

size_t heatsForHands(const BenchSheet& sheet, HeatKind kind)
{
    const Sites sites = sheet.targets();
    HeatAnswer atOnce{sheetOfHeat(sheet, kind, sites, {}), {}};
    if (!allOnPlate(sheet, sites))
        return sites.size();
    atOnce.answer = searchShape(taskOf(atOnce.sheet), {.quick = true});
    const bool neverMelts = std::ranges::any_of(atOnce.answer.margins, [](const MarginRow& row) {
        return row.limit.metric == Metric::LiquidForHands && !row.low;
    });
    return neverMelts ? sites.size() : inParts(sites, mostByHands(atOnce).value_or(sites.size())).size();
}

bool hasHeatsToAnswer(const BenchSheet& sheet)
{
    if (sheet.targets().empty() || sheet.heat == HeatKind::Bake)
        return false;
    return meltsJoints(sheet.heat) || refusalsOf(sheet).empty();
}

std::vector<HeatAnswer> answerJob(const BenchSheet& sheet, const SearchStart& start,
                                  std::span<const HeatAnswer> like)
{
    if (!meltsJoints(sheet.heat)) {
        std::vector<HeatAnswer> one{{sheet, {}}};
        one.front().answer = searchShape(taskOf(one.front().sheet), start);
        return one;
    }
    Job job(sheet, start, like);
    const bool twoHeats = sheet.heat == HeatKind::Swap && sheet.way == SwapWay::TwoHeats;
    if (twoHeats)
        job.add(HeatKind::Remove, sheet.targets());
    job.add(twoHeats ? HeatKind::Fit : sheet.heat, sheet.targets());
    return job.finished();
}

JobPlan jobPlanOf(const BenchSheet& sheet, const std::vector<HeatAnswer>& answers)
{
    JobPlan job{sheet, {}};
    for (const HeatAnswer& heat : answers) {
        job.heats.push_back(planOf(heat.sheet, heat.answer, heat.sheet.plateStartMm != sheet.plateStartMm));
        if (sheet.cooling.fan && !heat.sheet.cooling.fan)
            job.heats.back().warnings.push_back(
                "Leave the fan off in this heat: with it no plan comes out as well.");
        job.heats.back().heat = static_cast<int>(job.heats.size());
    }
    for (HeatPlan& plan : job.heats)
        plan.ofHeats = static_cast<int>(job.heats.size());
    // What comes off must be able to come back on.
    if (const HeatPlan* fit = stoppedFit(job)) {
        const std::string why = "Heat " + std::to_string(fit->heat) +
                                " of this job, which fits the new LEDs, cannot be run: take none off before "
                                "it can. " +
                                whyNot(*fit);
        for (HeatPlan& plan : job.heats)
            if (plan.sheet.heat == HeatKind::Remove) {
                plan.refusals.push_back(why);
                plan.runnable = false;
            }
    }
    const auto stopped = std::ranges::find_if(job.heats, [](const HeatPlan& plan) { return !plan.runnable; });
    if (stopped != job.heats.end())
        for (HeatPlan& plan : job.heats)
            if (plan.runnable)
                plan.warnings.push_back("Heat " + std::to_string(stopped->heat) +
                                        " of this job cannot be run as it stands: this heat alone does not "
                                        "finish the strip.");
    if (job.heats.empty())
        job.heats.push_back(planSheet(sheet));
    return job;
}

JobPlan planJob(const BenchSheet& sheet)
{
    return jobPlanOf(sheet, hasHeatsToAnswer(sheet) ? answerJob(sheet) : std::vector<HeatAnswer>());
}

} // namespace stripwright
