#pragma once

#include "interlocks/plate_figures.h"

#include <string>
#include <vector>

namespace stripwright {

/// A heating as it was recorded; duty is what the heater got from each time to the next.
struct HeatingRecord {
    std::vector<double> timeS, duty, sensorC;
};

/// A plate's figures from a heating of the bare plate.
struct PlateFit {
    PlateFigures figures;
    double rmsK = 0;                                       ///< Left over between model and record.
    double capacityError = 0, lossError = 0, lagError = 0; ///< Standard errors as shares of the figures.
    std::vector<std::string> refusals;                     ///< Why the figures must not be used; empty: good.
};

/// Fits element lag, body with loss to air and radiation, sensor lag and dead time by least squares
/// (Levenberg-Marquardt) to the whole record.
///
/// What a record can tell is P/C and losses/C: C and losses follow from the heater's power, which is taken
/// from its plate. Element and sensor lag stand in one row between heater and reading and cannot be told
/// apart; the longer one is taken for the element's, as it is where the element has some mass.
PlateFit fitPlate(const HeatingRecord& record, double powerW, double ambientC);

/// The reading that plate would have given in that heating, at its times.
std::vector<double> predictedReading(const HeatingRecord& record, const PlateFigures& plate);

} // namespace stripwright
