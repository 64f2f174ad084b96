#pragma once

#include "planner/job_plan.h"

#include <functional>
#include <mutex>

namespace stripwright {

/// The heats last found for a sheet, kept for whoever plans changes of that very sheet: finding them takes
/// seconds. For several threads; of two that ask at once for a new sheet both search.
class LastAnswers {
public:
    explicit LastAnswers(std::function<std::vector<HeatAnswer>(const BenchSheet&)> find);
    std::vector<HeatAnswer> of(const BenchSheet& sheet); ///< As kept, else found now.

private:
    std::function<std::vector<HeatAnswer>(const BenchSheet&)> find_;
    std::mutex mutex_;
    std::optional<BenchSheet> sheet_;
    std::vector<HeatAnswer> answers_;
};

std::vector<HeatAnswer> answersOf(const BenchSheet& sheet); ///< None for a sheet that has nothing to answer.

} // namespace stripwright
