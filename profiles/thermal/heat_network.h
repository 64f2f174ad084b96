#pragma once

#include <vector>

namespace stripwright {

constexpr double stefanBoltzmannWPerM2K4 = 5.670374419e-8; ///< CODATA 2018.
constexpr double zeroCelsiusK = 273.15;

/// Heat capacities joined by conductances. Temperatures in °C, heat flows in W.
///
///     C_i dT_i/dt = sum_j G_ij (T_j - T_i) + G_ia (Ta - T_i) + G_ip (Tp - T_i)
///                   + eA_i sigma (Ta^4 - T_i^4) + heater share
///
/// Ta is the ambient, Tp a plate of given temperature (absent when the plate is itself a node).
/// The solver's cost is linear when nodes are numbered leaves first and hubs last.
struct HeatNetwork {
    struct Link {
        int a, b;
        double wPerK;
    };
    struct ToBoundary {
        int node;
        double wPerK;
    };
    struct Radiator {
        int node;
        double emissivityTimesM2;
    };

    std::vector<double> capacityJPerK;
    std::vector<Link> links;
    std::vector<ToBoundary> films;      ///< To ambient.
    std::vector<Radiator> radiators;    ///< To black surroundings at ambient.
    std::vector<ToBoundary> plateLinks; ///< To the given plate temperature.
    int heaterNode = -1;                ///< Takes the heater's power; -1: none.

    int addNode(double capacity)
    {
        capacityJPerK.push_back(capacity);
        return static_cast<int>(capacityJPerK.size()) - 1;
    }
};

} // namespace stripwright
