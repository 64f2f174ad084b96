// Plans, levers and fans of jobs drawn by lot, held against each other: a plan must not be worse than what
// its own what-if starts from, a lever not promise what the plan of its sheet does not keep, and a fan that
// need not blow not make a job impossible.
#include "judged_job.h"

#include "demo_sheet.h"
#include "random_sheets.h"
#include "rules/wording.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <cstring>

namespace stripwright::figures {

namespace {

struct Asked {
    int sheets = 60, levers = 4;
    std::uint64_t seed = 1;
    std::optional<int> only;
    bool writeSheet = false;
};

std::string nameOf(const BenchSheet& sheet)
{
    return inWords(sheet.heat) + (sheet.heat == HeatKind::Swap ? ", " + inWords(sheet.way) : "");
}

void printJob(const JudgedJob& job)
{
    std::printf("%4d  %-40s %2zu dead  %-16s %-16s %-4s %-12s worst %+7.3f  %zu heats  %5.1f s  %s\n",
                job.number, nameOf(job.sheet).c_str(), job.sheet.targets().size(), job.sheet.strip.id.c_str(),
                job.sheet.plate.id.c_str(), job.sheet.cooling.fan ? "fan" : "",
                job.plan.refused ? "refused"
                : job.plan.runs  ? "runs"
                                 : "does not run",
                job.plan.worst, job.plan.heats, job.processorS, job.plan.tightest.c_str());
    if (!job.belowBaseline.empty())
        std::printf("      BELOW ITS BASELINE: %s\n", job.belowBaseline.c_str());
    for (const Contradiction& one : job.contradictions)
        std::printf("      LEVER %s CONTRADICTED: %s\n        %s\n", one.lever.c_str(), one.why.c_str(),
                    one.what.c_str());
    if (!job.fanSpoils.empty())
        std::printf("      A FAN MAKES IT IMPOSSIBLE: %s\n", job.fanSpoils.c_str());
    std::fflush(stdout);
}

std::string numbersOf(const std::vector<JudgedJob>& jobs, bool (*is)(const JudgedJob&))
{
    std::string text;
    for (const JudgedJob& job : jobs)
        if (is(job))
            text += (text.empty() ? "" : ", ") + std::to_string(job.number);
    return text.empty() ? "none" : text;
}

void printTotals(const std::vector<JudgedJob>& jobs)
{
    const auto count = [&](auto is) { return static_cast<int>(std::count_if(jobs.begin(), jobs.end(), is)); };
    int levers = 0, contradicted = 0;
    for (const JudgedJob& job : jobs) {
        levers += job.leversPlanned;
        contradicted += static_cast<int>(job.contradictions.size());
    }
    const auto below = [](const JudgedJob& job) { return !job.belowBaseline.empty(); };
    const auto lever = [](const JudgedJob& job) { return !job.contradictions.empty(); };
    const auto fan = [](const JudgedJob& job) { return !job.fanSpoils.empty(); };
    std::printf("\n%zu sheets: %d run, %d are refused by a rule\n", jobs.size(),
                count([](const JudgedJob& job) { return job.plan.runs; }),
                count([](const JudgedJob& job) { return job.plan.refused; }));
    std::printf("plans below the baseline of their own what-if: %d of %d; sheets: %s\n", count(below),
                count([](const JudgedJob& job) { return job.hasBaseline; }), numbersOf(jobs, below).c_str());
    std::printf("levers contradicted by the plan of their own sheet: %d of %d; sheets: %s\n", contradicted,
                levers, numbersOf(jobs, lever).c_str());
    std::printf("sheets that a fan makes impossible: %d of %d; sheets: %s\n", count(fan),
                count([](const JudgedJob& job) { return job.triedFan; }), numbersOf(jobs, fan).c_str());
}

bool read(int argc, char** argv, Asked& asked)
{
    for (int i = 1; i < argc; ++i) {
        const bool more = i + 1 < argc;
        if (!std::strcmp(argv[i], "--sheets") && more)
            asked.sheets = std::atoi(argv[++i]);
        else if (!std::strcmp(argv[i], "--levers") && more)
            asked.levers = std::atoi(argv[++i]);
        else if (!std::strcmp(argv[i], "--seed") && more)
            asked.seed = std::strtoull(argv[++i], nullptr, 10);
        else if (!std::strcmp(argv[i], "--only") && more)
            asked.only = std::atoi(argv[++i]);
        else if (!std::strcmp(argv[i], "--write"))
            asked.writeSheet = true;
        else
            return false;
    }
    return !asked.writeSheet || asked.only;
}

} // namespace

int print(int argc, char** argv)
{
    Asked asked;
    if (!read(argc, argv, asked)) {
        std::fprintf(stderr, "usage: figures_random_sheets [--sheets N] [--levers N] [--seed N] "
                             "[--only I [--write]]\n"
                             "--levers 0: plans and fans alone, ten times as quick\n"
                             "--write: the sheet of --only as a file for app/start plan, and nothing else\n");
        return 2;
    }
    const Shelf shelf = test::shippedShelf();
    if (asked.writeSheet) {
        std::printf("%s\n", toJson(randomJob(shelf, asked.seed, *asked.only)).dump(1).c_str());
        return 0;
    }
    std::printf(
        "%d jobs of seed %llu, every kind of heat and way to swap; of each the best %d levers planned. "
        "Margins are\nnormalised, and count up to 0.99. A lever is contradicted where its plan does not run, "
        "keeps fewer "
        "lenses, or has %.2f less room; a\nplan is below its baseline by more than %.2f. One alone: "
        "--only I, all its levers; its sheet: --only I --write\n\n",
        asked.only ? 1 : asked.sheets, static_cast<unsigned long long>(asked.seed), asked.levers,
        leverTolerance, searchScatter);
    std::fflush(stdout);
    std::vector<JudgedJob> jobs;
    const int first = asked.only.value_or(0), end = asked.only ? first + 1 : asked.sheets;
    for (int number = first; number < end; ++number) {
        constexpr int all = 1000;
        jobs.push_back(
            judgeJob(randomJob(shelf, asked.seed, number), shelf, number, asked.only ? all : asked.levers));
        printJob(jobs.back());
    }
    printTotals(jobs);
    return 0;
}

} // namespace stripwright::figures

int main(int argc, char** argv)
{
    return stripwright::figures::print(argc, argv);
}
