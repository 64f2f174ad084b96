#pragma once

#include <cstddef>
#include <vector>

namespace stripwright {

constexpr double stefanBoltzmannWPerM2K4 = 5.670374419e-8; ///< CODATA 2018.
constexpr double zeroCelsiusK = 273.15;
constexpr double capacityStatedAtC = 25; ///< Where heat capacities that rise with temperature are stated.

/// Heat capacities joined by conductances. Temperatures in °C, heat flows in W.
///
///     C_i (1 + s_i (T_i - 25)) dT_i/dt = sum_j G_ij (T_j - T_i) + G_ia (Ta - T_i) |(Ta - T_i) / ref|^n
///                                        + G_ip (Tp - T_i) + eA_i sigma (Ta^4 - T_i^4) + heater share
///
/// Ta is the ambient, Tp a plate of given temperature (absent when the plate is itself a node).
struct HeatNetwork {
    struct Link {
        int a, b;
        double wPerK;
    };
    struct ToBoundary {
        int node;
        double wPerK;
    };
    struct Film {
        int node;
        double wPerK;        ///< At a difference of refK.
        double exponent = 0; ///< n: 0 a constant film, 1/4 laminar natural convection; not below 0.
        double refK = 1;
    };
    struct Radiator {
        int node;
        double emissivityTimesM2;
    };

    std::vector<double> capacityJPerK;     ///< At 25 °C.
    std::vector<double> capacitySlopePerK; ///< s, relative; one a node.
    std::vector<Link> links;
    std::vector<Film> films;            ///< To ambient.
    std::vector<Radiator> radiators;    ///< To black surroundings at ambient.
    std::vector<ToBoundary> plateLinks; ///< To the given plate temperature.
    int heaterNode = -1;                ///< Takes the heater's power; -1: none.

    int addNode(double capacity, double slopePerK = 0)
    {
        capacityJPerK.push_back(capacity);
        capacitySlopePerK.push_back(slopePerK);
        return static_cast<int>(capacityJPerK.size()) - 1;
    }

    /// Capacities at one temperature from here on, for sums of responses.
    void fixCapacitiesAt(double temperatureC)
    {
        for (std::size_t i = 0; i < capacityJPerK.size(); ++i) {
            capacityJPerK[i] *= 1 + capacitySlopePerK[i] * (temperatureC - capacityStatedAtC);
            capacitySlopePerK[i] = 0;
        }
    }
};

} // namespace stripwright
