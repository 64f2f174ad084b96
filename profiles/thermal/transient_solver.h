#pragma once

#include "thermal/heat_network.h"

#include <Eigen/Core>
#include <memory>

namespace stripwright {

/// What drives a network from outside at one moment.
struct Drive {
    double ambientC = 0;
    double plateC = 0;  ///< For networks with plateLinks.
    double heaterW = 0; ///< For networks with a heaterNode.
};

/// Heat in joules since the start, with the solver's own quadrature: stored == in - out up to solver
/// tolerance.
struct EnergyBalance {
    double fromHeaterJ = 0, fromPlateJ = 0, toAmbientJ = 0, storedJ = 0;
    double turnoverJ = 0;   ///< Heat that crossed the boundary either way, the scale of the closure.
    double closure() const; ///< |in - out - stored| / turnover.
};

/// Steps a network with TR-BDF2 (Bank et al., IEEE Trans. CAD 4 (1985) 436; gamma = 2 - sqrt 2): second
/// order, L-stable, both stages with one matrix, factorised by a sparse LDL^T in the network's own numbering.
/// What is stepped is heat content, so that energy closes with capacities that rise with temperature too.
/// These, radiation and power-law films are solved by Newton's method on the same matrix to 1e-6 K; a network
/// without them takes one solution a stage. step() throws std::runtime_error if temperatures do not settle.
class TransientSolver {
public:
    TransientSolver(HeatNetwork network, const Eigen::VectorXd& startC);
    ~TransientSolver();
    TransientSolver(TransientSolver&&) noexcept;

    /// One step of dtS > 0; the drive is linear in time between start and end.
    void step(double dtS, const Drive& start, const Drive& end);

    const Eigen::VectorXd& temperaturesC() const;
    EnergyBalance energy() const;
    double heatFromPlateW(double plateC) const; ///< Present flow through the plateLinks into the network.

    /// Conductances may change between steps, e.g. a strip lifted off; capacities and shape must not.
    void replaceConductances(HeatNetwork network);

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
