#pragma once

#include "bench/faults.h"

#include <random>

namespace stripwright {

/// What a sensor with faults shows instead of what it should.
class SpoiltSensor {
public:
    SpoiltSensor(const FaultList& faults, double ambientC, unsigned seed);

    /// Once a sample, faults or none. `readC`: what a sound sensor reads, `noiseK` and `stepK` its own.
    double shows(double readC, double timeS, double everyS, double noiseK, double stepK);

private:
    const FaultList& faults_;
    double ambientC_, shownC_, looseC_;
    double spikesUntilS_ = -1; // those that began by then have shown
    std::mt19937 random_;
    std::normal_distribution<double> noise_{0, 1};
};

} // namespace stripwright
