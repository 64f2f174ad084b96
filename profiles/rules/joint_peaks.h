#pragma once

#include "thermal/predict.h"

#include <span>

namespace stripwright {

/// Highest temperature of one site's joint over a heat, in the scenario in which it gets least hot and in
/// that in which it gets hottest.
struct JointPeak {
    int site = 0;
    double coldestC = 0, hottestC = 0;
};

/// Peaks of every site's joint, in order, over the given predictions of one heat; there must be at least one.
std::vector<JointPeak> jointPeaksOf(const BenchSheet& sheet, std::span<const Prediction> predictions);

} // namespace stripwright
