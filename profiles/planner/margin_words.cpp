#include "planner/margin_words.h"

#include <cstdio>

namespace stripwright {

std::string marginInWords(const MarginRow& row)
{
    const std::string unit = row.limit.unit();
    char text[32];
    std::snprintf(text, sizeof text, unit == "K/s" ? "%+.2f" : "%+.1f", row.margin);
    return row.limit.what + ' ' + text + ' ' + (unit == "°C" ? std::string("K") : unit);
}

} // namespace stripwright
