// Plans run on benches that are not as their sheets say, by hands that are not on time: how often everything
// that a source asks for was really kept, and what the ranges that a plan allows for buy.
#include "bench_run.h"

#include "demo_sheet.h"
#include "random_sheets.h"

#include "planner/heat_kinds.h"
#include "planner/job_plan.h"
#include "search/scenario.h"

#include <algorithm>
#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <mutex>
#include <thread>

namespace stripwright::figures {

namespace {

struct Asked {
    int benches = 40;
    std::uint64_t seed = 1;
    std::optional<int> only;
};

struct JobRun {
    JobPlan job;
    std::vector<BenchRun> runs; ///< One a heat.
};

/// One job drawn, planned with the ranges its sheet states and with none, each run on the same bench.
struct Bench {
    int number = 0;
    BenchSheet sheet; ///< Lenses that the plan with ranges gives up are off.
    DrawnBench drawn;
    std::optional<JobRun> withRanges, withoutThem; ///< Absent: no plan keeps every limit.
};

std::vector<int> lostIn(const JobPlan& job)
{
    std::vector<int> lost;
    for (const HeatPlan& heat : job.heats)
        for (const int site : lostLenses(heat.margins))
            lost.push_back(site);
    return lost;
}

/// Lenses that the plan gives up come off, as its user is told; none if there is no plan even so.
std::optional<JobPlan> runnablePlanOf(BenchSheet& sheet)
{
    constexpr int rounds = 3;
    for (int round = 0; round < rounds; ++round) {
        JobPlan job = planJob(sheet);
        if (job.runnable())
            return job;
        const std::vector<int> lost = lostIn(job);
        if (lost.empty())
            return {};
        for (const int site : lost)
            sheet.sites[static_cast<size_t>(site - 1)].lens = LensState::Off;
    }
    return {};
}

/// The sheet that a heat was planned from, with the ranges that the bench is drawn from.
BenchSheet statedSheet(const HeatPlan& plan, const BenchSheet& stated)
{
    BenchSheet sheet = plan.sheet;
    sheet.contact = stated.contact;
    sheet.air = stated.air;
    sheet.strip.core = stated.strip.core;
    return sheet;
}

JobRun run(const JobPlan& job, const BenchSheet& stated, const DrawnBench& drawn)
{
    JobRun result{job, {}};
    for (const HeatPlan& plan : job.heats) {
        const BenchSheet sheet = statedSheet(plan, stated);
        result.runs.push_back(runBench(plan, truthOf(sheet, drawn), drawHands(sheet, drawn)));
    }
    return result;
}

/// None where no plan of either sort can be run.
std::optional<Bench> benchOf(const Shelf& shelf, std::uint64_t seed, int number)
{
    Bench bench{.number = number, .sheet = randomJob(shelf, seed, number)};
    if (!meltsJoints(bench.sheet.heat) || !rulesOf(bench.sheet.heat).refusals(bench.sheet).empty())
        return {};
    Dice dice(seed + 1000, number);
    bench.drawn = drawBench(dice);
    const auto job = runnablePlanOf(bench.sheet);
    BenchSheet narrow = asThoughKnown(bench.sheet);
    const auto narrowJob = runnablePlanOf(narrow);
    if (!job && !narrowJob)
        return {};
    if (job)
        bench.withRanges = run(*job, bench.sheet, bench.drawn);
    if (narrowJob)
        bench.withoutThem = run(*narrowJob, bench.sheet, bench.drawn);
    return bench;
}

const char* nameOf(HeatKind heat)
{
    return heat == HeatKind::Fit ? "fit" : heat == HeatKind::Remove ? "remove" : "swap";
}

void printBroken(const Bench& bench, const char* name, const std::optional<JobRun>& job)
{
    if (!job)
        return;
    for (size_t i = 0; i < job->runs.size(); ++i) {
        const BenchRun& run = job->runs[i];
        if (run.jobDone() && run.lenses.empty())
            continue;
        std::printf("  %4d %-8s %-8s heat %zu of %zu:", bench.number, nameOf(job->job.heats[i].sheet.heat),
                    name, i + 1, job->runs.size());
        for (const auto* part : {&run.joints, &run.bodies, &run.lenses})
            for (const Broken& one : *part)
                std::printf(" %s by %.2f;", one.id.c_str(), one.by);
        std::printf("\n");
    }
}

void printBench(const Bench& bench)
{
    if (!bench.withRanges || !bench.withoutThem)
        std::printf("  %4d has a plan only %s\n", bench.number,
                    bench.withRanges ? "with its ranges" : "without ranges");
    printBroken(bench, "today", bench.withRanges);
    printBroken(bench, "no range", bench.withoutThem);
    std::fflush(stdout);
}

std::vector<Bench> benchesOf(const Shelf& shelf, const Asked& asked, int& drawn)
{
    std::vector<Bench> benches;
    std::atomic<int> next = asked.only.value_or(0);
    const int end = asked.only ? *asked.only + 1 : 1000000;
    std::mutex mutex;
    const auto work = [&] {
        for (int number = next++; number < end; number = next++) {
            {
                const std::lock_guard lock(mutex);
                if (static_cast<int>(benches.size()) >= asked.benches)
                    return;
            }
            auto bench = benchOf(shelf, asked.seed, number);
            const std::lock_guard lock(mutex);
            if (!bench)
                continue;
            printBench(*bench);
            benches.push_back(std::move(*bench));
        }
    };
    std::thread other(work);
    work();
    other.join();
    std::sort(benches.begin(), benches.end(),
              [](const Bench& a, const Bench& b) { return a.number < b.number; });
    if (static_cast<int>(benches.size()) > asked.benches)
        benches.resize(static_cast<size_t>(asked.benches));
    drawn = asked.only ? 1 : benches.empty() ? 0 : benches.back().number + 1;
    return benches;
}

/// "joint_6/peak" -> "joint peak"
std::string kindOf(const std::string& id)
{
    return id.substr(0, id.find('_')) + " " + id.substr(id.find('/') + 1);
}

struct Row {
    int runs = 0, done = 0, lenses = 0, withLenses = 0, all = 0;
    std::map<std::string, int> broken; ///< Runs, by kind of limit.

    void add(const HeatPlan& plan, const BenchRun& run)
    {
        ++runs;
        done += run.jobDone();
        bool any = false;
        for (const SiteOnBench& site : plan.sheet.sites)
            any = any || plan.sheet.lensStaysOn(site.site);
        withLenses += any;
        lenses += any && run.lenses.empty();
        all += run.jobDone() && run.lenses.empty();
        std::map<std::string, int> once;
        for (const auto* part : {&run.joints, &run.bodies, &run.lenses})
            for (const Broken& one : *part)
                once[kindOf(one.id)] = 1;
        for (const auto& [kind, is] : once)
            broken[kind] += is;
    }
    void print(const char* name) const
    {
        const auto percent = [](int part, int whole) {
            char text[32] = "-";
            if (whole > 0)
                std::snprintf(text, sizeof text, "%.1f %%", 100.0 * part / whole);
            return std::string(text);
        };
        std::printf("  %-44s %4d %9s %9s of %3d %9s\n", name, runs, percent(done, runs).c_str(),
                    percent(lenses, withLenses).c_str(), withLenses, percent(all, runs).c_str());
        for (const auto& [kind, count] : broken)
            std::printf("      %-40s %4d\n", kind.c_str(), count);
    }
};

bool read(int argc, char** argv, Asked& asked)
{
    for (int i = 1; i < argc; ++i) {
        const bool more = i + 1 < argc;
        if (!std::strcmp(argv[i], "--benches") && more)
            asked.benches = std::atoi(argv[++i]);
        else if (!std::strcmp(argv[i], "--seed") && more)
            asked.seed = std::strtoull(argv[++i], nullptr, 10);
        else if (!std::strcmp(argv[i], "--only") && more)
            asked.only = std::atoi(argv[++i]);
        else
            return false;
    }
    return true;
}

} // namespace

int print(int argc, char** argv)
{
    Asked asked;
    if (!read(argc, argv, asked)) {
        std::fprintf(stderr, "usage: figures_random_benches [--benches N] [--seed N] [--only I]\n");
        return 2;
    }
    std::printf("%d benches, seed %llu: swaps, fits and removals. Plant: cells of 1 mm, LEDs of 8 lumps, a "
                "new LED cold\n"
                "in the network; contact within its range, by places of 15 mm and a slight bow; core "
                "conductivity within\n"
                "its range, films a fifth, room 5 K, plate losses a tenth either way; the plate follows the "
                "plan's curve\n"
                "and coasts by its own losses. Hands: lognormal about the sheet's times, a quarter either "
                "way, one site\n"
                "in ten 3 to 10 s late. Limits that are no habit. job: old joints molten when lifted, new "
                "ones wetted,\n"
                "windows of paste, LEDs and dielectric. lenses: lens, foot and glue, of heats with any on. "
                "Lenses that\n"
                "the plan of today gives up are off in both. Heats that broke a limit, as they are run; one "
                "alone: --only "
                "I\n\n",
                asked.only ? 1 : asked.benches, static_cast<unsigned long long>(asked.seed));
    std::fflush(stdout);
    int drawn = 0;
    const std::vector<Bench> benches = benchesOf(test::shippedShelf(), asked, drawn);
    Row today, none, onlyNone;
    int both = 0, onlyWithout = 0, onlyWith = 0;
    for (const Bench& bench : benches) {
        const bool has = bench.withRanges.has_value(), hasNarrow = bench.withoutThem.has_value();
        both += has && hasNarrow;
        onlyWithout += !has;
        onlyWith += !hasNarrow;
        if (has && hasNarrow)
            for (size_t i = 0; i < bench.withRanges->runs.size(); ++i)
                today.add(bench.withRanges->job.heats[i], bench.withRanges->runs[i]);
        if (hasNarrow)
            for (size_t i = 0; i < bench.withoutThem->runs.size(); ++i)
                (has ? none : onlyNone).add(bench.withoutThem->job.heats[i], bench.withoutThem->runs[i]);
    }
    std::printf("\n%zu benches out of %d jobs drawn, for which there is a plan\n\n", benches.size(), drawn);
    std::printf("  %-44s %4s %9s %16s %9s\n", "", "runs", "job", "lenses", "all");
    today.print("plans of today");
    none.print("plans with every range set to nothing");
    onlyNone.print("the same, where today there is no plan");
    std::printf("\n  a plan with ranges and without: %d benches; only without: %d; only with: %d\n", both,
                onlyWithout, onlyWith);
    return 0;
}

} // namespace stripwright::figures

int main(int argc, char** argv)
{
    return stripwright::figures::print(argc, argv);
}
