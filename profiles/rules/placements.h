#pragma once

#include "materials/bench_sheet.h"

namespace stripwright {

/// One position of the plate under the strip, and the sites done there.
struct Placement {
    double plateStartMm = 0;
    std::vector<int> sites; ///< From the connector end on.
    /// Joints that melt here without need: every good site over the plate, and every marked one that an
    /// earlier placement has done. One that a later placement will do is dead and does not count.
    int extraMelts = 0;
    std::optional<double>
        leastEdgeDistanceMm; ///< Of its sites; absent: no edge of the plate lies under the strip.
};

struct PlacementPlan {
    std::vector<Placement> placements; ///< In the order of work, from the connector end on.
    double edgeMm = 0;                 ///< Within this of an edge a joint stays cooler than over the middle.
    bool hasEvenPart = true; ///< False: the plate is all edge, and each site is done over its middle.
};

/// The fewest placements of the sheet's plate that have every marked site in the plate's even part, and of
/// those the ones with the fewest extra melts in all. Exact.
///
/// The even part keeps sqrt(k t / h) from each edge, the decay length of a fin: k and t of the core, h the
/// least contact the sheet allows. An edge beyond the strip's end drains no heat and is none. Sites beside
/// the plate do not count as melting: already at the edge a joint is 20 to 30 K below the middle, which is
/// all that a paste's peak stands above its liquidus. The sheet's own position of the plate and its sink
/// blocks do not matter.
PlacementPlan placementsFor(const BenchSheet& sheet);

/// From a site to the nearest edge of the plate where it lies in the sheet; an edge beyond the strip's end is
/// none.
std::optional<double> edgeDistanceMm(const BenchSheet& sheet, int site);

} // namespace stripwright
