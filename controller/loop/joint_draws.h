#pragma once

#include "planner/heat_plan.h"

#include <Eigen/Core>

namespace stripwright {

constexpr int drawCount = 128;
constexpr int levelCount = 4; ///< Poor, low, nominal and high contact.

using PerDraw = Eigen::Array<double, drawCount, 1>;
using DrawsByLevel = Eigen::Matrix<double, drawCount, levelCount>;

/// Contact conductances as factors of the sheet's nominal.
struct ContactRange {
    double low = 0.5, high = 2;
};
ContactRange contactRangeOf(const BenchSheet& sheet); ///< Half and double where the sheet states none.

/// Ways in which strip and room may be, the same in every run.
///
/// Contact is log-normal with the sheet's low and high as its 5 and 95 %, tails as of Student's t with 5
/// degrees of freedom; a fiftieth of the weight stands below low, for a strip that does not lie as planned.
/// Losses to air vary by 20 % (free convection is known to a fifth), the room by the sheet's range.
struct JointDraws {
    explicit JointDraws(const BenchSheet& sheet);

    PerDraw contact;   ///< Of nominal, rising.
    PerDraw logPrior;  ///< Weights, their sum 1.
    PerDraw lossShare; ///< Factor of the losses to air.
    PerDraw ambientK;  ///< Room above the sheet's.
};

/// Standard normal values, one a draw, their mean 0 and deviation 1; other values for every `stream`.
PerDraw normals(unsigned stream);

} // namespace stripwright
