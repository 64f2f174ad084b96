#pragma once

#include "analysis/limits.h"

#include <string>

namespace stripwright {

std::string marginInWords(const MarginRow& row); ///< "joint peak, site 6 -2.3 K".

} // namespace stripwright
