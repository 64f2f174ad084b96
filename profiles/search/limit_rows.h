#pragma once

#include "analysis/limits.h"

namespace stripwright {

// What a search needs of one limit on one evenly sampled curve, so that a linear program may steer by it.

/// Margins of the sides that a limit's window has, normalised.
struct SideMargins {
    std::optional<double> overMin, underMax;
};

/// Each side by itself: of two sides' worst there is no slope. Of a limit of which nothing is asked each side
/// is as good as can be.
SideMargins sideMargins(const Limit& limit, Curve curve, const SiteWork* work = nullptr);

bool isSteepest(const Limit& limit); ///< Of slopes, of which only the steepest one is measured.

/// Normalised margin of the one slope over slopeWindowS from there, against the limit's max.
double slopeMargin(const Limit& limit, Curve curve, double fromS);

/// A temperature that a stop of the curve must not come to lie on the other side of unawares: of a time from
/// or to it there is no slope there.
struct Level {
    double levelC = 0;
    bool above = false; ///< The side to stay on.
};

std::vector<Level> jumpLevels(const Limit& limit);

/// How clear a curve is of a level at atS: 0 where only two kelvin are left, -1 at the level, on its other
/// side and where the curve is on its steep way through.
double clearance(Curve curve, double atS, Level level);

} // namespace stripwright
