#pragma once

#include "thermal/predict.h"

namespace stripwright {

/// One way in which strip, room and plate may be, out of the ranges a sheet states.
struct Scenario {
    ContactLevel contact = ContactLevel::Nominal;
    double filmFactor = 1;
    double ambientRiseK = 0;
    double coreWPerMK = 0;
    double plateLossFactor = 1; ///< Of the plate as it coasts; while it is heated the loop holds its curve.
};

// Places in scenariosOf(), and what is judged by each.
constexpr size_t coldest = 0, ///< Every minimum, and when the hands may begin: low contact, thick films,
                              ///< cold room, a core that carries heat away, a plate that cools quickly.
    asStated = 1,             ///< Shown; between the ends only for times in a band.
    hottestJoints = 2;        ///< Every maximum of a joint that is worked on: high contact, thin films, warm
                              ///< room, a core that keeps the heat there, a plate that cools slowly.

/// With a fourth where the core's conductivity has a range: as hottestJoints, but by a core that carries the
/// heat to the neighbours.
std::vector<Scenario> scenariosOf(const BenchSheet& sheet);

/// With hottestJoints, by which every maximum of what is to survive is judged: the last one. A core that
/// carries heat away is the worse one off the plate, the other over it.
size_t hottestParts(const BenchSheet& sheet);

/// The sheet were all of it known: every range narrowed to what is stated.
BenchSheet asThoughKnown(BenchSheet sheet);

/// The scenario's plate: the given one until its heater goes off, then as its losses have it. Time runs
/// faster or slower by their factor: exact for a plate that cools by them alone.
PlateCurve plateIn(const Scenario& scenario, const PlateCurve& plate, double heaterOffS);

/// The same of a curve sampled every stepS, straight on beyond its end.
std::vector<double> coastingIn(const Scenario& scenario, std::span<const double> plateC, double stepS,
                               double heaterOffS);

/// `shared` with the scenario's contact, films, room and core. The strip is as warm as the sheet's room at
/// first, like the plate.
PredictOptions optionsIn(const Scenario& scenario, const BenchSheet& sheet, PredictOptions shared);

} // namespace stripwright
