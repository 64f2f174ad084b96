#pragma once

#include "thermal/powered_plate.h"

namespace stripwright {

/// How a simulated plate differs from the one its bench sheet tells of.
struct Plant {
    TruthFactors truth{.contact = 0.85, .losses = 1.10, .power = 0.95};
    double heatCapacityFactor = 1;                            ///< On the plate's own.
    std::optional<double> elementLagS, sensorLagS, deadTimeS; ///< Absent: the sheet's.
    double noiseK = 0.05;                                     ///< Standard deviation before the steps.
    double readingStepK = 0.1;
    double sensorOffsetK = 0; ///< Reading above the truth.
    double ownLoopGain = 1;   ///< On the gain of the plate's own loop, set-point mode.
};

/// Reads a plant file ("stripwright-plant"): every key is optional, and absent means as in Plant. Throws
/// BadInput with every problem.
Plant readPlant(const std::string& text, const std::string& fileName);

/// The keys of a plant file with what they are when absent, one line each.
std::string plantFileText();

/// The sheet's plate as it really is: heat capacity, lags and dead time of the plant. The factors of
/// `truth` are PoweredPlate's to apply.
PlateType platePutRight(PlateType plate, const Plant& plant);

} // namespace stripwright
