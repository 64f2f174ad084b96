#pragma once

#include "materials/materials.h"

namespace stripwright {

constexpr double footEdgeMarginMm =
    0.5;                            ///< Board left between a foot's rim and the strip's edge; own estimate.
constexpr double footToLedMm = 0.5; ///< Board left between a foot's rim and the LED's corners, for fillets
                                    ///< and glue that spreads; own estimate.

/// Least width of a strip on which every foot lands with the lens centred on its LED. With feet of diameter d
/// evenly on a circle D and the edge margin e: D + d + 2e whatever the rotation, and at the best one
/// D cos(180°/m) + d + 2e, m the number of feet if even, else twice that (three feet: 0.8660 D, one of them
/// on the strip's long axis).
double widthAtAnyRotationMm(const Lens& lens);
double widthAtBestRotationMm(const Lens& lens);

/// Least foot circle whose feet clear the LED's body and pad at any rotation [mm].
double leastFootCircleMm(const Lens& lens, const LedPackage& led);

/// A range of rotations of a lens: the angle of a foot on its circle, 0 pointing away from the connector end.
struct Rotations {
    double middleDeg = 0;    ///< In (-180°/feet, 180°/feet]: feet are alike.
    double halfWidthDeg = 0; ///< 180°/feet: any rotation.
    bool operator==(const Rotations&) const = default;
};

/// Widest range of rotations at which every foot of the lens at this site lands on the board, to a quarter
/// of a degree; none if there is none. The strip must have a lens.
std::optional<Rotations> rotationsThatLand(const StripType& strip, int site);

/// Why the strip's lens does not fit it, each a sentence with its figures, of sites near an end the first;
/// empty if it fits or there is none.
std::vector<std::string> lensMisfits(const StripType& strip);

} // namespace stripwright
