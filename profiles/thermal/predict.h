#pragma once

#include "thermal/strip_model.h"
#include "thermal/transient_solver.h"

namespace stripwright {

/// Plate temperature over time: straight lines between points of rising time, first and last value kept
/// outside.
struct PlateCurve {
    std::vector<double> timeS;
    std::vector<double> plateC;
    double at(double seconds) const;
};

struct StationCurve {
    Station station;
    std::vector<double> valueC; ///< At Prediction::timeS.
};

struct Prediction {
    std::vector<double> timeS;
    std::vector<double> plateC;
    std::vector<StationCurve> stations;
    EnergyBalance energy;

    const StationCurve* find(StationId id) const; ///< Null if there is none.
    const StationCurve*
    find(const std::string& name) const; ///< By Station::name, as a file's columns have it.
};

struct PredictOptions : StripModelOptions {
    double endS = 0;    ///< 0: last time of the plate curve.
    double stepS = 0.5; ///< Longest step; steps also end at every point of the plate curve.
    double outputStepS = 1.0;
    std::optional<double> ambientC; ///< Absent: the sheet's.
    std::optional<double> startC;   ///< Absent: ambient.
    std::optional<double> liftAtS;  ///< Contact to the plate is cut from here on.
    std::optional<double> fanFromS; ///< Fan blows from here on.
};

/// Temperatures of every station of a sheet over a given plate curve.
Prediction predict(const BenchSheet& sheet, const PlateCurve& plate, const PredictOptions& options = {});

} // namespace stripwright
