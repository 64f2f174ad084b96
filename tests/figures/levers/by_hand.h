#pragma once

#include "materials/bench_sheet.h"

namespace stripwright::figures {

/// A strip on a plate that is settled, or that rises as exp(growthPerS t) from long ago, without radiation,
/// LEDs and lenses, in closed form: the strip as a chain of fins, each with its own loss a length, joined by
/// temperature and flow; a sink block as a body of one temperature behind its contact. Exact for what it
/// states; it knows the sheet's data and nothing of the library's heat model.
///
/// Temperatures are over ambient. Growth adds to every loss what warming up takes: to a fin's loss a length
/// growthPerS times its heat capacity a length, to a block's loss growthPerS times its heat capacity.
struct StripByHand {
    double conductivityTimesAreaWmPerK = 0; ///< k A, copper's included.
    double capacityJPerMK = 0;              ///< A length.
    double bareWPerMK = 0;                  ///< Loss a length where all four faces are in air.
    double coveredWPerMK = 0;               ///< Where the underside lies on plate or block.
    double plateWPerMK = 0;                 ///< To the plate.
    double widthM = 0;
    double tipWPerK = 0; ///< Loss of an end face.
    double growthPerS = 0;

    double perM(double lossWPerMK) const { return lossWPerMK + growthPerS * capacityJPerMK; }
};
StripByHand stripByHand(const BenchSheet& sheet, double growthPerS);

/// A fin that passes on at its end to whatever follows: theta = [cosh m(L - x) + r sinh m(L - x)] / [cosh mL
/// + r sinh mL], r what follows over k A m.
struct Fin {
    double lengthM = 0, mPerM = 0, ratio = 0; ///< r
    double takesWPerK = 0;                    ///< At its beginning, for each kelvin there.
    double share(double xM) const;            ///< Of the temperature at its beginning.
};
Fin fin(const StripByHand& strip, double lossWPerMK, double lengthM, double nextWPerK);

/// One overhang, from the plate's edge outwards.
struct Overhang {
    double lengthM = 0;
    bool hasBlock = false;
    Fin gap, tail;         ///< Without a block the gap is all of it.
    double blockFromM = 0; ///< From the plate's edge.
    double blockLengthM = 0;
    double contactWPerMK = 0, blockLossWPerK = 0; ///< With growth in it.
    /// Over the block, xi from the block's outer end inwards, for a block of 1 K:
    /// theta = beta + a cosh(m xi) + b sinh(m xi).
    double mPerM = 0, beta = 0, a = 0, b = 0;
    double innerOverBlock = 0, outerOverBlock = 0; ///< Strip at the block's ends over the block.
    double atBlockWPerK = 0; ///< What block and all behind it take, for each kelvin at its inner end.

    double takesWPerK() const { return gap.takesWPerK; }
    double share(double xM) const; ///< Of the temperature at the plate's edge.
    double blockShare() const;
};
Overhang overhang(const StripByHand& strip, double lengthM, const PlacedSinkBlock* block, double blockFromM);

/// The whole strip: what lies over the plate is a fin between both overhangs.
struct ByHand {
    StripByHand strip;
    double plateStartM = 0, plateLengthM = 0;
    Overhang near, far;
    double mPerM = 0, settledK = 0, a = 0, b = 0; ///< theta = settled + a cosh(m x) + b sinh(m x).
    double overAmbientK(double xM) const;         ///< x on the strip's scale.
    double fromPlateW() const;                    ///< All that the strip takes from the plate.
    double nearEdgeK() const { return overAmbientK(plateStartM); }
    double farEdgeK() const { return overAmbientK(plateStartM + plateLengthM); }
};
/// The plate over the middle of the strip, at most one block on each side.
ByHand byHand(const BenchSheet& sheet, double plateOverAmbientK, double growthPerS);

} // namespace stripwright::figures
