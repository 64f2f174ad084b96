#pragma once

#include "materials/bench_sheet.h"

#include <string>
#include <vector>

namespace stripwright {

std::string rounded(double value);     ///< "12".
std::string millimetres(double value); ///< "12 mm", "12.5 mm".
/// "1:32" in minutes and seconds; from one hour on "9 h 04 min". How every time and span is written for the
/// eye.
std::string clockInWords(double seconds);
std::string capital(std::string text); ///< First letter large; ASCII.
std::string lowered(std::string text); ///< First letter small; ASCII.

std::string inWords(HeatKind heat); ///< "swap", "fit", ...
std::string inWords(SwapWay way);   ///< "on the solder left", "two heats, one for ...", ...

std::string siteList(const std::vector<int>& sites);     ///< "4, 5, 7-9".
std::string sitesInWords(const std::vector<int>& sites); ///< "site 6", "sites 4, 5, 7-9".

} // namespace stripwright
