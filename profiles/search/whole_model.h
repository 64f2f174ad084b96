#pragma once

#include "search/heat_task.h"
#include "search/scenario.h"

namespace stripwright {

using Predictions = std::vector<Prediction>; ///< As scenariosOf().

/// A shape with what it does, by the whole heat model in every scenario.
struct PredictedHeat {
    Shape shape;
    PlateReference reference;
    std::optional<double> liftAtS;
    std::optional<HandTimes> hands; ///< Of a heat with work for hands, by its coldest curves.
    Predictions predictions;
    std::vector<MarginRow> margins; ///< Worst first.
    double worstMargin = 0;         ///< Normalised, over limits that are no habit.
    bool keepsLimits() const { return worstMargin >= 0; }
};

/// What counts between answers for the same sites. A job that is done counts first, then lenses that are
/// kept, then the worst margin of all but lost lenses.
struct Worth {
    bool done = false; ///< Every limit but those of lost lenses is kept.
    int lensesLost = 0;
    double worst = 0; ///< Normalised.
    bool operator<(const Worth& better) const;
};
Worth worthOf(const PredictedHeat& answer);

/// How far a plan looks ahead. The heater is off early enough for joints to set and far lenses to peak before
/// the end, so that nothing happens unseen.
struct Horizon {
    double latestOffS = 480, endS = 720;
};
Horizon horizonOf(const HeatTask& task);

/// Predicts every scenario over the reference, in its steps; the answer's shape is the caller's to fill.
PredictedHeat wholeModel(const HeatTask& task, PlateReference reference);

/// Every scenario over one plate curve, which coasts from heaterOffS on as the scenario has it.
Predictions predictScenarios(const BenchSheet& sheet, const PlateCurve& plate, double heaterOffS,
                             const PredictOptions& shared);

/// Fills hands, margins and worstMargin from the predictions and the reference, which share their times.
void judge(PredictedHeat& answer, const HeatTask& task);

/// What the hands do at a site in a scenario, of a judged answer; none without hands there.
std::optional<SiteWork> siteWorkOf(const PredictedHeat& answer, const HeatTask& task, int site,
                                   size_t scenario);

/// Of the scenarios that may be a station's hottest the one in which it gets hotter.
size_t hottestFor(const PredictedHeat& answer, StationId station);

double worstOfLimits(const std::vector<MarginRow>& rows); ///< Normalised; habits left out.

} // namespace stripwright
