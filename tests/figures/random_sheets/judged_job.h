#pragma once

#include "planner/what_if.h"

namespace stripwright::figures {

/// What counts of a job's plan.
struct JobWorth {
    bool refused = false; ///< By a rule, whatever the curves.
    bool runs = false;    ///< Every heat is runnable.
    int lensesKept = 0;
    double worst = 0; ///< Normalised; over limits that are no habit, lost lenses left out.
    std::string tightest;
    size_t heats = 0;
};
JobWorth worthOf(const JobPlan& job);

/// Normalised: a quick search in coarse steps may promise this much more than a plan keeps.
constexpr double leverTolerance = 0.1;
constexpr double searchScatter = 0.02; ///< Less is the search's own.

/// One lever whose own sheet's plan says otherwise.
struct Contradiction {
    std::string lever, what, why;
};

/// Everything asked of one job.
struct JudgedJob {
    int number = 0;
    BenchSheet sheet;
    JobWorth plan;
    bool hasBaseline = false;  ///< No bake has, nor a sheet that is refused before any search.
    std::string belowBaseline; ///< In words; empty: it is not.
    int leversPlanned = 0;
    std::vector<Contradiction> contradictions;
    std::string fanSpoils; ///< In words; empty: it does not, or there is none.
    bool triedFan = false;
    double processorS = 0;
};

/// @param mostLevers how many of the best levers are planned; 0: none is tried, and the baseline is that of
/// the quick search alone
JudgedJob judgeJob(const BenchSheet& sheet, const Shelf& shelf, int number, int mostLevers);

} // namespace stripwright::figures
