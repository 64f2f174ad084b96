#pragma once

#include <string>

namespace stripwright {

/// Cautions before a bare plate is heated, on standard error, and the question whether it is bare, on the
/// terminal. `howHot`: "to 180 C". True: somebody says so, or has said so beforehand.
bool plateIsBare(const std::string& howHot, bool hasEnable, bool saidBefore);

} // namespace stripwright
