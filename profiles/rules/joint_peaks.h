#pragma once

#include "thermal/predict.h"

#include <span>

namespace stripwright {

/// Highest temperature of one site's joint over a heat, by contact: where it gets least hot and where most.
struct JointPeak {
    int site = 0;
    double poorestC = 0, hottestC = 0;
};

/// Peaks of every site's joint, in order, over the given predictions of one heat; there must be at least one.
std::vector<JointPeak> jointPeaksOf(const BenchSheet& sheet, std::span<const Prediction> predictions);

} // namespace stripwright
