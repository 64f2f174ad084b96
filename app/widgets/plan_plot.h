#pragma once

#include "models/run_review.h"
#include "planner/heat_plan.h"
#include "widgets/curve_view.h"

namespace stripwright {

/// What of a plan is drawn: plate, target joints with their band from coldest to hottest, and of bodies,
/// lenses and glue the one with the least margin each, with the limits of those.
struct PlanPlot {
    std::vector<PlotCurve> curves;
    std::vector<PlotLimit> limits;
    std::vector<PlotField> fields;
    std::vector<PlotStage> stages;
    double workEndS = 0; ///< Where only the long cool-down is left.
    double endS = 0;
};

PlanPlot plotOf(const HeatPlan& plan);

/// A plan at the times of a run that stretched it. Where the heat was stopped it is followed no more.
void layOverRun(PlanPlot& plot, const std::vector<Sample>& samples, const std::vector<Event>& events);

/// The hands' marks on the estimate of the joints: full for liquid, hollow for "not yet".
std::vector<PlotPoint> pointsOf(const std::vector<TimedMark>& marks);

/// A curve of a run as it is drawn over the plan's.
PlotCurve plotCurveOf(RunCurve run);

/// Plate, joints and their estimate are drawn always, of other stations those that the plan's curves show.
bool isDrawn(const RunCurve& run, const std::vector<PlotCurve>& planned);

} // namespace stripwright
