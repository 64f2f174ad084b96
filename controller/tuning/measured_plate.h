#pragma once

#include "link/plate_link.h"
#include "materials/own_plates.h"

namespace stripwright {

/// A plate whose heat was learnt, as an entry of the user's shelf: id and name from its link's name, figures,
/// lags and own loop as learnt, the range of its losses from their error. Must hold link.identified, its date
/// too. A figure that was not learnt this time, such as the fan's, stays as it is in `before`, the entry of
/// an earlier time.
PlateType measuredPlate(const PlateLink& link, const PlateSize& size, double maxC,
                        const std::optional<PlateType>& before);

/// What its entry is called, until somebody calls it otherwise there.
std::string measuredPlateName(const std::string& linkName);

/// The highest temperature that such an entry may state: the link's plate_max_C, else what its sensor can
/// read, and never above `typedMaxC`.
double measuredPlateMaxC(const PlateLink& link, double typedMaxC);

} // namespace stripwright
