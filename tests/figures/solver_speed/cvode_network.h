#pragma once

#include "thermal/predict.h"

namespace stripwright::figures {

/// How CVODE takes the bends of the plate curve.
enum class AtBends { RunsOver, StopsAt, StartsAnew };

struct CvodeOptions {
    double toleranceK = 1e-3; ///< Absolute, every node; no relative part.
    AtBends bends = AtBends::StopsAt;
    int highestOrder = 5;
    double outputStepS = 5;
};

struct NetworkRun {
    std::vector<Eigen::VectorXd> temperaturesC; ///< At every output step, start and end included.
    long steps = 0;
};

/// SUNDIALS CVODE on a heat network under a given plate curve: BDF, Newton's method, analytic Jacobian, KLU
/// with AMD ordering. Network without heater node and power-law films.
NetworkRun runCvode(const HeatNetwork& network, const PlateCurve& plate, double ambientC,
                    const CvodeOptions& options);

} // namespace stripwright::figures
