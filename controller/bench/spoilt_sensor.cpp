#include "bench/spoilt_sensor.h"

#include <cmath>

namespace stripwright {

constexpr double looseLagS = 60;

SpoiltSensor::SpoiltSensor(const FaultList& faults, double ambientC, unsigned seed)
    : faults_(faults), ambientC_(ambientC), shownC_(ambientC), looseC_(ambientC), random_(seed)
{
}

double SpoiltSensor::shows(double readC, double timeS, double everyS, double noiseK, double stepK)
{
    const double noisyK = noiseK * noise_(random_); // drawn always: one fault leaves the rest alike
    const auto rounded = [&](double valueC) { return std::round((valueC + noisyK) / stepK) * stepK; };
    if (faults_.has(Fault::SensorDetached, timeS))
        looseC_ += (ambientC_ - looseC_) * (1 - std::exp(-everyS / looseLagS));
    else
        looseC_ = readC;

    if (faults_.has(Fault::SensorShort, timeS))
        shownC_ = rounded(ambientC_);
    else if (faults_.has(Fault::SensorDetached, timeS))
        shownC_ = rounded(looseC_);
    else if (!faults_.has(Fault::SensorStuck, timeS))
        shownC_ = readC;

    double spikeK = 0;
    for (const TimedFault& fault : faults_.all())
        if (fault.fault == Fault::Spike && fault.fromS > spikesUntilS_ && fault.fromS <= timeS + 1e-9)
            spikeK = fault.value;
    spikesUntilS_ = timeS + 1e-9;
    return shownC_ + spikeK;
}

} // namespace stripwright
