#pragma once

#include "linear_curve.h"
#include "linear_program.h"

namespace stripwright {

/// The power that one linear program finds for the worst margin of the columns' limits: crossing times
/// linearised about `power`, whose worst margin is `worst`; the plate within reachK of it and near the one
/// that was `judged` last. None if the program fails.
std::optional<Eigen::VectorXd> climbByProgram(const std::vector<ResponseColumn>& columns,
                                              const PowerGrid& grid, const Response& plate,
                                              const std::vector<double>& timeS, const Eigen::VectorXd& power,
                                              const Eigen::VectorXd& judged, double worst, double reachK);

} // namespace stripwright
