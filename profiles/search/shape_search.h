#pragma once

#include "search/whole_model.h"

namespace stripwright {

struct SearchStart {
    std::optional<Shape> shape; ///< Absent: guesses from the aim.
    bool quick = false;         ///< In 4 s steps, for comparing; a plan to run is in 1 s steps.
};

/// Searches the heat with the largest worst normalised margin: by shape, then, unless quick, by the heater's
/// power from there. Candidates are judged by superposition, corrected by what the whole heat model says of
/// the best so far, and climbed by linear programs; the answer itself always comes from the whole model.
/// answer.shape is the shape that power went on from.
PredictedHeat searchShape(const HeatTask& task, const SearchStart& start = {});

} // namespace stripwright
