#include "loop/pid.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

Pid::Pid(const PidGains& gains, double periodS) : gains_(gains), periodS_(periodS) {}

double Pid::step(double referenceC, double measuredC, double feedForward, double dtS, bool atItsMost)
{
    const double h = std::clamp(dtS, 0.5 * periodS_, 2 * periodS_);
    const bool gap = !haveLast_ || dtS > 3 * periodS_;
    const double td = gains_.tdS, n = gains_.derivativeFilter;
    if (gap || td <= 0)
        d_ = 0;
    else
        d_ = td / (td + n * h) * d_ - gains_.kPerK * td * n / (td + n * h) * (measuredC - lastC_);
    lastC_ = measuredC;
    haveLast_ = true;

    v_ = gains_.kPerK * (gains_.setpointWeight * referenceC - measuredC) + i_ + d_ + feedForward;
    const double u = std::clamp(v_, 0.0, 1.0);
    if (!gap) {
        const double tt = td > 0 ? std::sqrt(gains_.tiS * td) : gains_.tiS;
        const double growth = gains_.kPerK * h / gains_.tiS * (referenceC - measuredC) + h / tt * (u - v_);
        i_ += atItsMost ? std::min(growth, 0.0) : growth;
    }
    return u;
}

void Pid::takeOver(double duty, double referenceC, double measuredC, double feedForward)
{
    i_ = duty - (gains_.kPerK * (gains_.setpointWeight * referenceC - measuredC) + d_ + feedForward);
}

} // namespace stripwright
