#pragma once

#include "materials/bench_sheet.h"
#include "search/plate_reference.h"

#include <functional>

namespace stripwright {

/// A plate curve as a few numbers that a search may move; all vectors of one length.
struct CandidateCurve {
    std::vector<double> values;
    std::vector<double> low, high;
    std::vector<double> stride;       ///< How far one goes at first.
    std::vector<double> probe;        ///< How far one is moved to see what that does.
    std::vector<double> plain;        ///< Where a number costs nothing: a plain curve is easier to trust.
    std::vector<double> pricePerUnit; ///< Of merit, for each number's distance from there.
    bool byPower = false; ///< Curves then change with each number by as much wherever the others stand.
    double price(const std::vector<double>& at) const;
    std::function<PlateReference(const std::vector<double>& values, const StripDraw& draw, double stepS)>
        follow;
};

/// The numbers of a shape. The longest hold counts for a heat whose hands need longer.
CandidateCurve shapeCandidate(const BenchSheet& sheet, const Shape& start, double longestHoldS,
                              double latestOffS, double endS);

/// The heater's power itself, piece by piece, beginning with that of a plate curve: what nine numbers do not
/// draw, as a dip before the last climb, or full power until heater-off. It may begin with an idle while.
CandidateCurve powerCandidate(const BenchSheet& sheet, const PlateReference& start, double latestOffS,
                              double endS);

} // namespace stripwright
