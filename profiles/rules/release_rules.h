#pragma once

#include "materials/bench_sheet.h"

namespace stripwright {

/// Lenses that no warmth takes off: glue that does not let go, or does so surely only where joints move or
/// the lens's own foot softens (unless the sheet overrides "lens-foot-softens").
std::vector<std::string> releaseRefusals(const BenchSheet& sheet);

/// What the warmth does to the lenses coming off.
std::vector<std::string> releaseWarnings(const BenchSheet& sheet);

} // namespace stripwright
