#pragma once

#include "thermal/powered_plate.h"

namespace stripwright {

/// When the status bit of a watchdog that has cut goes out: with the cut itself, when duty 0 or the set-point
/// floor is written; when heat is enabled again, by the enable output or, where there is none, by the first
/// heat that is commanded after it; or there is no such bit, though the watchdog cuts.
enum class WatchdogBit { Clears, Latches, None };

/// How a simulated plate differs from the one its bench sheet tells of.
struct Plant {
    TruthFactors truth{.contact = 0.85, .losses = 1.10, .power = 0.95};
    double heatCapacityFactor = 1;                            ///< On the plate's own.
    std::optional<double> elementLagS, sensorLagS, deadTimeS; ///< Absent: the sheet's.
    double noiseK = 0.05;                                     ///< Standard deviation before the steps.
    double readingStepK = 0.1;
    double sensorOffsetK = 0; ///< Reading above the truth.
    double readingEveryS = 0; ///< Its register and the counter are refreshed so often; 0: each sample.

    /// Of the loop inside a set-point plate. Absent: as simcOwnLoop() has it, the gain times ownLoopGain.
    std::optional<double> ownLoopGainPerK, ownLoopIntegralS, ownLoopDerivativeS, ownLoopMostDuty;
    double ownLoopGain = 1;
    double ownLoopEveryS = 0.1; ///< Its sample period.
    double ownRampCPerS = 0;    ///< Its set-point moves no faster, from the reading on; 0: no ramp is on.

    double outputWindowS = 0; ///< The heater is switched for shares of it; 0: any power there is.
    double leastOnS = 0;      ///< A relay stays on and off at least so long.
    WatchdogBit watchdogBit = WatchdogBit::Clears;
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
