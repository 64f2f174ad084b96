#pragma once

#include "finite_element_case.h"

namespace stripwright::figures {

/// A sheet under a plate curve, asked for at its stations.
struct Heat {
    std::string name, shortName;
    BenchSheet sheet;
    PlateCurve plate;
    PredictOptions options;
};

Heat heatOf(const test::FiniteElementCase& one);
Heat demoHeat(); ///< The demo sheet as it is planned, at nominal contact, with core stations about the plate.

/// Same curve by fewer points, where steps between its own would be too short to be varied.
PlateCurve thinned(const PlateCurve& plate, double everyS);

constexpr double edgeMm = 3; ///< Within this of the plate's edge the core is steep: 1 to 2 K a millimetre.
bool isOverPlate(const Station& station, const BenchSheet& sheet); ///< Further in than edgeMm.
std::string placeOf(const Station& station, const BenchSheet& sheet);

/// Where two predictions of the same stations and times differ most.
struct Apart {
    double differenceK = 0; ///< First less second, with its sign.
    double atS = 0;
    Station station;
};

template <class Counts> Apart mostApart(const Prediction& first, const Prediction& second, Counts counts)
{
    Apart most;
    for (size_t s = 0; s < first.stations.size(); ++s) {
        if (!counts(first.stations[s].station))
            continue;
        for (size_t i = 0; i < first.timeS.size(); ++i) {
            const double differenceK = first.stations[s].valueC.at(i) - second.stations.at(s).valueC.at(i);
            if (most.station.name.empty() || std::abs(differenceK) > std::abs(most.differenceK))
                most = {differenceK, first.timeS[i], first.stations[s].station};
        }
    }
    return most;
}

inline bool any(const Station&)
{
    return true;
}
inline bool isJoint(const Station& station)
{
    return station.kind == StationKind::Joint;
}

void printAccuracy(const std::vector<test::FiniteElementCase>& cases);
void printGrid(const std::vector<Heat>& heats);
void printCellsAgainstTruth(const std::vector<test::FiniteElementCase>& cases);
void printLeftOut(const std::vector<Heat>& heats);

} // namespace stripwright::figures
