#pragma once

#include <vector>

namespace stripwright {

/// Step of 1, 2 or 5 times a power of ten that gives at most `most` steps over `range`.
double stepOver(double range, int most);

/// Step for a time axis [s]: 1, 2, 5, 10, 15, 30 s, then whole minutes, that gives at most `most` steps over
/// `rangeS`.
double timeStepOver(double rangeS, int most);

/// Wanted middles of labels of one height, moved as little as needed so that none overlap and all stay
/// between top and bottom; their order is kept. Too many for the room overlap evenly.
std::vector<double> spreadLabels(std::vector<double> middles, double height, double top, double bottom);

/// The same along a line for labels of their own widths, in order from left to right, a gap between them.
/// Where there is no room for all of them they overlap.
std::vector<double> spreadAcross(std::vector<double> middles, const std::vector<double>& widths, double gap,
                                 double left, double right);

} // namespace stripwright
