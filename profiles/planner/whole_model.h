#pragma once

#include "analysis/limits.h"
#include "planner/plate_reference.h"
#include "planner/scenario.h"

namespace stripwright {

/// A shape with what it does, by the whole heat model in every scenario.
struct Answer {
    Shape shape;
    PlateReference reference;
    std::optional<double> liftAtS;
    std::array<Prediction, scenarioCount> predictions;
    std::vector<MarginRow> margins; ///< Worst first.
    double worstMargin = 0;         ///< Normalised, over limits that are no habit.
    bool keepsLimits() const { return worstMargin >= 0; }
};

/// Time a plan looks ahead: long enough for far lenses to peak after the heater is off [s].
constexpr double horizonS = 720;

/// Follows the shape and predicts every scenario in steps and outputs of stepS.
Answer wholeModel(const BenchSheet& sheet, const std::vector<Limit>& limits, const Shape& shape,
                  const StripDraw& draw, double stepS);

double worstOfLimits(const std::vector<MarginRow>& rows); ///< Normalised; habits left out.

} // namespace stripwright
