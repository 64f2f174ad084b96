#pragma once

#include "analysis/limits.h"
#include "search/plate_reference.h"
#include "search/scenario.h"

namespace stripwright {

using Predictions = std::array<Prediction, scenarioCount>;

/// A shape with what it does, by the whole heat model in every scenario.
struct Answer {
    Shape shape;
    PlateReference reference;
    std::optional<double> liftAtS;
    Predictions predictions;
    std::vector<MarginRow> margins; ///< Worst first.
    double worstMargin = 0;         ///< Normalised, over limits that are no habit.
    bool keepsLimits() const { return worstMargin >= 0; }
};

/// How far a plan looks ahead. The heater is off early enough for joints to set and far lenses to peak before
/// the end, so that nothing happens unseen.
struct Horizon {
    double latestOffS = 480, endS = 720;
};
Horizon horizonOf(const BenchSheet& sheet, const std::vector<Limit>& limits);

/// Predicts every scenario over the reference, in its steps; the answer's shape is the caller's to fill.
Answer wholeModel(const BenchSheet& sheet, const std::vector<Limit>& limits, PlateReference reference);

/// Every scenario over one plate curve; contact, film and ambient of `shared` are the scenario's.
Predictions predictScenarios(const BenchSheet& sheet, const PlateCurve& plate, const PredictOptions& shared);

/// Fills margins and worstMargin from the predictions and the reference, which share their times.
void judge(Answer& answer, const std::vector<Limit>& limits);

/// Takes away what goes before the first power and after the last: an answer begins when the heater does, and
/// its heater-off is the last power's end, unless a fan waits for it.
void trimIdle(Answer& answer, bool fan);

double worstOfLimits(const std::vector<MarginRow>& rows); ///< Normalised; habits left out.

} // namespace stripwright
