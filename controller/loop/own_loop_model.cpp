#include "loop/own_loop_model.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double derivativeFilter = 8; // as most such loops filter theirs, give or take a half

double OwnLoopModel::worksByC(double setpointC, double readingC) const
{
    return figures_.rampCPerS ? rampedC_.value_or(readingC) : setpointC;
}

double OwnLoopModel::furthestC(double inS) const
{
    return figures_.rampCPerS ? rampedC_.value_or(lastC_) + *figures_.rampCPerS * inS : INFINITY;
}

double OwnLoopModel::unclipped(double setpointC, double readingC) const
{
    const double errorK = worksByC(setpointC, readingC) - readingC;
    return figures_.gainPerK * (errorK - figures_.derivativeS * slopeCPerS_) + integral_;
}

double OwnLoopModel::duty(double setpointC, double readingC) const
{
    return std::clamp(unclipped(setpointC, readingC), 0.0, figures_.mostDuty);
}

double OwnLoopModel::setpointForC(double duty, double readingC) const
{
    return readingC + figures_.derivativeS * slopeCPerS_ + (duty - integral_) / figures_.gainPerK;
}

double OwnLoopModel::advance(double setpointC, double readingC, double dtS)
{
    if (!started_) {
        started_ = true;
        lastC_ = readingC;
    }
    if (!(dtS > 0))
        return duty(setpointC, readingC);
    // Short steps: a loop quicker than a control cycle runs against its bounds in the midst of one.
    constexpr double longestStepS = 0.25;
    const int parts = std::max(1, static_cast<int>(std::ceil(dtS / longestStepS)));
    const double h = dtS / parts, fromC = lastC_, slopeNow = (readingC - lastC_) / dtS;
    const double follows =
        figures_.derivativeS > 0 ? 1 - std::exp(-h * derivativeFilter / figures_.derivativeS) : 0;
    double sum = 0;
    for (int i = 0; i < parts; ++i) {
        const double middleC = fromC + (i + 0.5) / parts * (readingC - fromC);
        slopeCPerS_ += follows * (slopeNow - slopeCPerS_);
        if (figures_.rampCPerS) {
            const double atC = rampedC_.value_or(fromC), mostK = *figures_.rampCPerS * h;
            rampedC_ = std::clamp(setpointC, atC - mostK, atC + mostK);
        }
        const double wanted = unclipped(setpointC, middleC), errorK = worksByC(setpointC, middleC) - middleC;
        const bool further = (wanted > figures_.mostDuty && errorK > 0) || (wanted < 0 && errorK < 0);
        if (!further)
            integral_ = std::clamp(integral_ + figures_.gainPerK * errorK * h / figures_.integralS, 0.0,
                                   figures_.mostDuty);
        sum += std::clamp(wanted, 0.0, figures_.mostDuty);
    }
    lastC_ = readingC;
    return sum / parts;
}

void OwnLoopModel::correct(double setpointC, double readingC, double toldDuty)
{
    constexpr double atABound = 0.005;
    if (toldDuty < atABound || toldDuty > figures_.mostDuty - atABound)
        return; // it may want more, or less, than it gives
    integral_ = std::clamp(integral_ + toldDuty - unclipped(setpointC, readingC), 0.0, figures_.mostDuty);
}

void OwnLoopModel::rest(double readingC)
{
    integral_ = slopeCPerS_ = 0;
    rampedC_.reset();
    lastC_ = readingC;
    started_ = true;
}

} // namespace stripwright
