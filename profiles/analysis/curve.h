#pragma once

#include <span>
#include <vector>

namespace stripwright {

/// A temperature history by samples at rising times, straight lines between them.
/// Views only: the caller owns the numbers.
struct Curve {
    std::span<const double> timeS;
    std::span<const double> valueC;
};

} // namespace stripwright
