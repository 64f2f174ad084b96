#include "levers.h"
#include "processor_time.h"

#include "rules/placements.h"
#include "thermal/strip_model.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <thread>

namespace stripwright::figures {

namespace {

constexpr double mostPlanMs = 250, mostLeversMs = 3000;
constexpr size_t mostTargets = 12, leversAsked = 30;
constexpr int plainRuns = 5, slowRuns = 3;

struct Took {
    double processorMs = 0, wallMs = 0; ///< Medians.
    double leastWallMs = 0;
};

/// Processor time of every thread: a plan predicts its scenarios side by side.
template <class Run> Took timed(int runs, Run run)
{
    const auto processorMs = [] {
        timespec time{};
        clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
        return static_cast<double>(time.tv_sec) * 1e3 + static_cast<double>(time.tv_nsec) * 1e-6;
    };
    std::vector<double> processor, wall;
    for (int i = 0; i < runs; ++i) {
        const double fromMs = processorMs();
        const auto from = std::chrono::steady_clock::now();
        run();
        wall.push_back(
            std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - from).count());
        processor.push_back(processorMs() - fromMs);
    }
    return {test::median(processor), test::median(wall), *std::min_element(wall.begin(), wall.end())};
}

void onlyReplace(BenchSheet& sheet, const std::vector<int>& targets)
{
    sheet.sites.clear();
    for (size_t i = 0; i < sheet.strip.siteXMm.size(); ++i)
        sheet.sites.push_back({.site = static_cast<int>(i) + 1});
    for (int site : targets)
        sheet.sites[static_cast<size_t>(site - 1)].state = SiteState::Replace;
}

/// A sheet made here must be one that could come from a file.
BenchSheet asRead(const BenchSheet& sheet)
{
    return readBenchSheet(toJson(sheet), "made here", "", {});
}

BenchSheet onLargestPlate(const BenchSheet& from, const Shelf& shelf)
{
    BenchSheet sheet = from;
    sheet.strip = *findById(shelf.strips, "growbar-300-10");
    sheet.plate = *findById(shelf.plates, "bench-plate-300");
    sheet.plateStartMm = 0;
    sheet.air = stillAir(sheet.strip.widthMm, from.air.ambientC);
    return sheet;
}

BenchSheet twelveTargets(const BenchSheet& from, const Shelf& shelf)
{
    BenchSheet sheet = onLargestPlate(from, shelf);
    sheet.title = "growbar-300-10, sites 5 to 16";
    std::vector<int> targets;
    for (int site = 5; targets.size() < mostTargets; ++site)
        targets.push_back(site);
    onlyReplace(sheet, targets);
    return asRead(sheet);
}

BenchSheet fiveMetres(const BenchSheet& from, const Shelf& shelf)
{
    constexpr int sites = 400, marked = 150;
    BenchSheet sheet = onLargestPlate(from, shelf);
    sheet.strip.id = "growbar-5000-10";
    sheet.strip.name = "Grow bar 300 x 10 mm, drawn out to 5 m";
    sheet.strip.lengthMm = 5000;
    sheet.strip.siteXMm.clear();
    std::vector<int> targets;
    for (int i = 0; i < sites; ++i) {
        sheet.strip.siteXMm.push_back((i + 0.5) * sheet.strip.lengthMm / sites);
        if ((i + 1) * marked / sites > i * marked / sites)
            targets.push_back(i + 1);
    }
    onlyReplace(sheet, targets);
    return sheet;
}

const char* verdict(const Took& took, double mostMs)
{
    return took.wallMs <= mostMs ? "kept" : took.leastWallMs <= mostMs ? "kept when least disturbed" : "OVER";
}

void printRow(const BenchSheet& sheet, const std::string& what, int runs)
{
    HeatPlan plan;
    const Took took = timed(runs, [&] { plan = planSheet(sheet); });
    const size_t targets = sheet.targets().size();
    std::printf("  %-50s %7zu %6zu %4d %10.0f %6.0f %6.0f   %s\n", what.c_str(), targets,
                buildStripModel(sheet).network.capacityJPerK.size(), runs, took.processorMs, took.wallMs,
                took.leastWallMs, targets > mostTargets ? "no limit" : verdict(took, mostPlanMs));
}

} // namespace

void printTimes(const BenchSheet& demo, const BenchSheet& bar3, const Shelf& shelf)
{
    double load = 0;
    getloadavg(&load, 1);
    std::printf(
        "TIMES of planSheet, and of whatIf\n\n"
        "Medians of the runs, and the least. Processor: of all threads together; wall: beside whatever "
        "else this\nmachine does, a load of %.1f on %u processors. Limit: %.0f ms of wall for up to %zu "
        "targets. Nodes: of the\nstrip's heat model.\n\n"
        "                                                     targets  nodes runs  processor   wall  least\n"
        "                                                                                ms     ms     ms\n",
        load, std::thread::hardware_concurrency(), mostPlanMs, mostTargets);
    printRow(demo, demo.title, plainRuns);
    printRow(bar3, "bar 3, site 6 flickers, SAC305", plainRuns);
    const BenchSheet twelve = twelveTargets(demo, shelf);
    printRow(twelve, twelve.title + ", on " + twelve.plate.id, plainRuns);

    BenchSheet spread = fiveMetres(demo, shelf);
    const size_t marked = spread.targets().size();
    PlacementPlan placements;
    const Took placing = timed(plainRuns, [&] { placements = placementsFor(spread); });
    const Placement& middle = placements.placements[placements.placements.size() / 2];
    onlyReplace(spread, middle.sites);
    spread.plateStartMm = middle.plateStartMm;
    spread.title = "5 m, placed for site " + std::to_string(middle.sites.front()) + " and on";
    spread = asRead(spread);
    printRow(spread,
             "5 m with " + std::to_string(spread.sites.size()) + " sites, one placement of " +
                 std::to_string(placements.placements.size()),
             slowRuns);
    std::printf(
        "\n  The 5 m strip: %zu sites marked, for which placementsFor finds %zu placements of %s in %.2f "
        "ms.\n  Planned is the middle one, from %g mm, with the %zu it holds; its nodes are those of the "
        "whole strip.\n",
        marked, placements.placements.size(), spread.plate.id.c_str(), placing.processorMs,
        middle.plateStartMm, middle.sites.size());

    size_t levers = 0;
    const Took took = timed(slowRuns, [&] { levers = whatIf(bar3, shelf).levers.size(); });
    const double per30Ms = took.wallMs * leversAsked / static_cast<double>(levers);
    std::printf("\n  whatIf of bar 3: %zu levers in %.0f ms of processor and %.0f ms of wall (median of %d "
                "runs);\n  %zu levers at that pace %.0f ms of wall, limit %.0f ms: %s\n",
                levers, took.processorMs, took.wallMs, slowRuns, leversAsked, per30Ms, mostLeversMs,
                verdict({took.processorMs, per30Ms, per30Ms * took.leastWallMs / took.wallMs}, mostLeversMs));
}

} // namespace stripwright::figures
