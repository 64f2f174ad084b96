#pragma once

#include "link/plate_link.h"

#include <string>
#include <vector>

namespace stripwright {

/// "plate link of \"bench 2\" at 10.0.0.7 port 502, unit 3, driven by duty; watchdog proven to cut the heater
/// after 3.9 s of silence; heat learnt 2026-11-25".
std::string linkInWords(const PlateLink& link);

/// What is whole as a file and will be refused, or said in every heat, all the same.
std::vector<std::string> warningsOf(const PlateLink& link);

} // namespace stripwright
