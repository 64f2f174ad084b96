#pragma once

#include <QList>
#include <QPointF>

#include <span>

namespace stripwright {

/// The samples from `fromT` to `toT` reduced for drawing: per pixel column the first, lowest, highest and
/// last (and a gap, where there is one), so that no peak is lost. One sample beyond each end is kept, so that
/// lines run to the edge. NaN values stay: they are gaps. Times must rise. At most 5 points a column.
QList<QPointF> decimated(std::span<const double> t, std::span<const double> value, double fromT, double toT,
                         int columns);

} // namespace stripwright
