#pragma once

#include "thermal/heat_network.h"

namespace stripwright::figures {

/// Processor time of one factorisation and one solution of a step's matrix [us], the pattern known.
struct MatrixTimes {
    double factoriseUs = 0, solveUs = 0;
    double patternUs = 0; ///< Order of elimination and what goes where: once for a network.
};

/// A step's matrix by thermal/sparse_ldl and by Eigen's SimplicialLDLT with AMD ordering.
struct MatrixSpeed {
    MatrixTimes ours, eigens;
    double apartK = 0; ///< Largest difference of their solutions.
};

/// Of a network at rest at 100 °C stepped by dtS, without power-law films; medians of `runs` in turn.
MatrixSpeed matrixSpeedOf(const HeatNetwork& network, double dtS, int runs);

} // namespace stripwright::figures
