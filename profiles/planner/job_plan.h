#pragma once

#include "planner/heat_plan.h"
#include "search/shape_search.h"

#include <span>

namespace stripwright {

/// One heat of a job with what a search found for it. The sheet is the strip as it lies in that heat: where
/// the plate is, which marked sites are done in it (Replace), which are done already (Good, with the passes
/// they have) and which wait (Later).
struct HeatAnswer {
    BenchSheet sheet;
    PredictedHeat answer;
};

/// The heats that a sheet takes in which joints melt or glue lets go, in their order.
///
/// There is more than one where the way to swap asks for it, where the plate does not reach all marked sites
/// at once, and where the hands cannot serve all of them while the solder is liquid. A sheet whose plate
/// reaches all marked sites keeps its place. Otherwise sites are grouped into the fewest placements
/// (placementsFor), and of a few places for each group the search decides.
///
/// Neighbouring placements are one heat where all their sites lie over one plate, a search keeps every limit
/// and rule there, 3 mm clear of its edges, and no more lenses are lost.
///
/// A sheet with refusals is answered as one heat; one without targets must not be asked for, nor a bake.
/// Where `like`, heats of nearly the same sheet, has one for the same sites, the plate lies as it does there.
std::vector<HeatAnswer> answerJob(const BenchSheet& sheet, const SearchStart& start = {},
                                  std::span<const HeatAnswer> like = {});

/// Into how many heats of this kind the hands part the marked sites, by one quick search of them all. One a
/// site where the plate does not reach them all from where it lies, or a joint does not melt.
size_t heatsForHands(const BenchSheet& sheet, HeatKind kind);

/// A sheet's answer: all its heats, each to be run by itself.
struct JobPlan {
    BenchSheet sheet;
    std::vector<HeatPlan> heats; ///< At least one.
    bool runnable() const;       ///< Every one of them.
    /// A rule forbids one of them, whatever its curve; a Remove that waits for its Fit is not meant.
    bool refused() const;
    /// A Remove that nothing stands against but that a Fit after it cannot be run.
    bool waitsForFit(const HeatPlan& plan) const;
};

JobPlan planJob(const BenchSheet& sheet);
JobPlan jobPlanOf(const BenchSheet& sheet, const std::vector<HeatAnswer>& answers);

bool hasHeatsToAnswer(const BenchSheet& sheet); ///< Whether answerJob() may be asked.

} // namespace stripwright
