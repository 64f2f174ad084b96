#pragma once

#include "margin_search.h"

namespace stripwright {

/// Whether a worst margin of s is out of reach of every power, by limits that are linear once two times are
/// known: caps and slopes at every sample of every curve, the least peak of the coldest target at time one,
/// and the hottest target above liquidus only within a stretch, as long as s allows, that begins at time two.
/// The times are searched in full, in cells: time one about heater-off (without a fan anywhere: nothing else
/// has a fixed time), time two over every stretch that holds time one. Soak, time to peak and least time
/// above are left out, so false says nothing. True is proof for the superposed curves about `best`, as far as
/// each curve is above liquidus in one stretch.
bool outOfReach(const MarginSearch& search, const PowerGrid& grid, bool fan, const Eigen::VectorXd& best,
                double s);

} // namespace stripwright
