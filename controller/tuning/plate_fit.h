#pragma once

#include "tuning/heating_models.h"

#include <string>
#include <vector>

namespace stripwright {

/// A loop's own full heat that tells it from its plate [s].
constexpr double leastFullHeatS = 5;

/// A plate's figures from a heating of the bare plate.
struct PlateFit {
    PlateFigures figures;
    double rmsK = 0;                                       ///< Left over between model and record.
    double capacityError = 0, lossError = 0, lagError = 0; ///< Standard errors as shares of the figures.
    std::optional<OwnLoopFigures> ownLoop;                 ///< Of a record with set-points.
    double gainError = 0, integralError = 0;               ///< As capacityError.
    double fullHeatS = 0;              ///< Time in which that loop wanted well more than it could give.
    std::vector<std::string> refusals; ///< Why the figures must not be used; empty: good.
};

/// Fits element lag, body with loss to air and radiation, sensor lag and dead time by least squares
/// (Levenberg-Marquardt) to the whole record.
///
/// What a record can tell is P/C and losses/C: C and losses follow from the heater's power, which is taken
/// from its plate. Element and sensor lag stand in one row between heater and reading and cannot be told
/// apart; the longer one is taken for the element's, as it is where the element has some mass.
///
/// In a record with set-points the plate's own loop is found too. Where the plate tells its duty, from that;
/// where not, together with the plate: the loop's duty is what its law makes of set-point and reading. While
/// the loop runs free only its gain times P/C can be told; both, once it has given all it can.
PlateFit fitPlate(const HeatingRecord& record, double powerW, double ambientC);

/// As fitPlate(), of a heating that is not over: no refusals, and figures as good as they are by then. None:
/// nothing fits.
std::optional<PlateFit> fitSoFar(const HeatingRecord& record, double powerW, double ambientC);

} // namespace stripwright
