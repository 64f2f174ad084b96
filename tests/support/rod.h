#pragma once

#include "thermal/transient_solver.h"

#include <cmath>
#include <vector>

namespace stripwright::test {

/// A stretch of one material in a row of equal cells, 1 m² across unless areaM2 says otherwise.
struct Layer {
    double lengthM, conductivityWPerMK, volumetricHeatJPerM3K;
    int cells;
};

/// Rows of cells along a line, with a boundary on either end: conductance per area to the "plate" on the left
/// (infinite: the face has the plate's temperature) and a film to ambient on the right, and a film along the
/// side.
struct Rod {
    std::vector<Layer> layers;
    double areaM2 = 1;
    double leftWPerM2K = 0;         ///< To the plate; HUGE_VAL: fixed face temperature; 0: insulated.
    double rightWPerM2K = 0;        ///< To ambient.
    double sideFilmWPerM = 0;       ///< Film times perimeter, to ambient, all along.
    std::vector<double> gapWPerM2K; ///< Contact between layer i and i + 1; absent: perfect.

    HeatNetwork network() const
    {
        HeatNetwork net;
        double beforeHalf = 0;
        for (size_t l = 0; l < layers.size(); ++l) {
            const Layer& layer = layers[l];
            const double dx = layer.lengthM / layer.cells, half = dx / 2 / layer.conductivityWPerMK;
            for (int i = 0; i < layer.cells; ++i) {
                const int node = net.addNode(layer.volumetricHeatJPerM3K * areaM2 * dx);
                if (sideFilmWPerM > 0)
                    net.films.push_back({node, sideFilmWPerM * dx});
                if (node == 0) {
                    if (leftWPerM2K > 0)
                        net.plateLinks.push_back({0, areaM2 / (1 / leftWPerM2K + half)});
                } else {
                    const double gap = i == 0 && l - 1 < gapWPerM2K.size() ? 1 / gapWPerM2K[l - 1] : 0;
                    net.links.push_back({node - 1, node, areaM2 / (beforeHalf + gap + half)});
                }
                beforeHalf = half;
            }
        }
        if (rightWPerM2K > 0)
            net.films.push_back(
                {static_cast<int>(net.capacityJPerK.size()) - 1, areaM2 / (1 / rightWPerM2K + beforeHalf)});
        return net;
    }
};

inline TransientSolver solverAt(const HeatNetwork& network, double startC)
{
    return TransientSolver(
        network, Eigen::VectorXd::Constant(static_cast<Eigen::Index>(network.capacityJPerK.size()), startC));
}

/// Runs to `untilS` from `fromS` under a constant drive with steps that grow from a hundredth of the stretch:
/// a sudden start has its quick part at its beginning.
inline void run(TransientSolver& solver, double fromS, double untilS, const Drive& drive, int steps)
{
    const double stretch = untilS - fromS;
    double before = 0;
    for (int i = 1; i <= steps; ++i) {
        const double place = std::pow(double(i) / steps, 2) * stretch;
        solver.step(place - before, drive, drive);
        before = place;
    }
}

/// Value half-way between cells or beyond the first one, by straight lines over one layer of equal cells.
inline double at(const TransientSolver& solver, const Layer& layer, double xM)
{
    const double place = xM / (layer.lengthM / layer.cells) - 0.5;
    const int i = std::min(std::max(0, static_cast<int>(std::floor(place))), layer.cells - 2);
    const auto& t = solver.temperaturesC();
    return t[i] + (place - i) * (t[i + 1] - t[i]);
}

} // namespace stripwright::test
