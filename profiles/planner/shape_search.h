#pragma once

#include "analysis/limits.h"
#include "planner/unit_response.h"

namespace stripwright {

/// A shape with what it does, by the whole heat model at every contact level.
struct Answer {
    Shape shape;
    PlateReference reference; ///< 1 s steps.
    std::optional<double> liftAtS;
    std::array<Prediction, 3> predictions; ///< By contact level, 1 s outputs.
    std::vector<MarginRow> margins;        ///< Worst first.
    double worstMargin = 0;                ///< Normalised, over limits that are no habit.
    bool keepsLimits() const { return worstMargin >= 0; }
};

/// Searches the shape with the largest worst normalised margin. Candidates are judged by superposition,
/// corrected by what the whole heat model says of the best so far; the answer itself always comes from the
/// whole model.
Answer searchShape(const BenchSheet& sheet);

/// Time the plan looks ahead: long enough for far lenses to peak after the heater is off [s].
constexpr double horizonS = 720;

} // namespace stripwright
