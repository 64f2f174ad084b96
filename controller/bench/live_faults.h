#pragma once

#include "bench/simulated_plate.h"

namespace stripwright {

/// Faults that come as lines while the plate is at work, each from the moment it is read. A line that is none
/// is complained of on standard error.
class LiveFaults {
public:
    explicit LiveFaults(int fd) : fd_(fd) {} ///< -1: none come.

    void take(SimulatedPlate& plate); ///< What has come. Does not wait.

private:
    int fd_;
    std::string waiting_;
};

} // namespace stripwright
