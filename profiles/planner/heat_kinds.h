#pragma once

#include "analysis/limits.h"
#include "planner/heat_plan.h"
#include "rules/joint_peaks.h"
#include "search/heat_task.h"

namespace stripwright {

/// All that is told apart by the kind of a heat. A new kind is one more of these, in a file pair of its own,
/// and a row of the table in heat_kinds.cpp.
struct HeatKindRules {
    /// What its targets need, and the caps of every part that stays.
    std::vector<Limit> (*limits)(const BenchSheet& sheet);
    /// Where its search starts.
    HeatAim (*aim)(const BenchSheet& sheet, const std::vector<Limit>& limits);
    /// Why it is not to be run, beyond what holds for every kind.
    std::vector<std::string> (*refusals)(const BenchSheet& sheet);
    /// `peaks` may be empty: what needs a plan is then left out.
    std::vector<std::string> (*warnings)(const BenchSheet& sheet, std::span<const JointPeak> peaks);
    /// Its own cards before the heat, beside the common ones.
    void (*cardsBefore)(HeatPlan& plan);
    /// Stages, and cards of the heat itself. Curves, hands, heaterOffS and liftAtS are there.
    void (*stagesAndCards)(HeatPlan& plan);
};

const HeatKindRules& rulesOf(HeatKind heat);

/// Every limit of a sheet. A side that is trade habit gives a limit with habit = true; where a sourced one
/// stands beside it, its id ends in "_habit".
std::vector<Limit> limitsOf(const BenchSheet& sheet);

/// The sheet's heat as a search needs it; it must outlive the task.
HeatTask taskOf(const BenchSheet& sheet);

/// Rules that no temperature decides: alloys that must not meet, joints moved while liquid, targets off the
/// plate, lens feet off the board.
std::vector<std::string> refusalsOf(const BenchSheet& sheet);
/// What to know: alloys, reflow passes, lenses that go back on. `peaks` of a plan, every site's; without them
/// what needs a plan is left out. `placeIsChosen`: for this heat, by its plan, so that no other place is
/// advised.
std::vector<std::string> warningsOf(const BenchSheet& sheet, std::span<const JointPeak> peaks = {},
                                    bool placeIsChosen = false);

} // namespace stripwright
