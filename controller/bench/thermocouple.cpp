#include "bench/thermocouple.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

Thermocouple::Thermocouple(const Figures& figures, double everyS, double startC, unsigned seed)
    : figures_(figures), share_(figures.lagS > 0 ? 1 - std::exp(-everyS / figures.lagS) : 1),
      past_(static_cast<size_t>(std::lround(std::max(0.0, figures.deadTimeS) / everyS)) + 1, startC),
      laggedC_(startC), delayedC_(startC), random_(seed)
{
}

void Thermocouple::advance(double trueC)
{
    laggedC_ += share_ * (trueC - laggedC_);
    past_[next_] = laggedC_;
    next_ = (next_ + 1) % past_.size();
    delayedC_ = past_[next_];
}

double Thermocouple::sample()
{
    const double noisyC = delayedC_ + figures_.offsetK + figures_.noiseK * noise_(random_);
    return std::round(noisyC / figures_.stepK) * figures_.stepK;
}

} // namespace stripwright
