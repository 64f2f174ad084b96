#include "tuning/guided_heating.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double pulseDuty = 0.5, pulseS = 10, pulseRiseK = 12, afterPulseS = 30, pauseS = 45;
static constexpr double coastS = 180, coastByK = 40;
static constexpr double leastPulseRiseK = 0.7, roughLagsS = 8;

GuidedHeating::GuidedHeating(Plate& plate, const HeatingBounds& bounds, double powerW, double ambientC)
    : heating_(plate, bounds), bounds_(bounds), powerW_(powerW), ambientC_(ambientC)
{
    for (std::vector<double>* part : {&record_.timeS, &record_.duty, &record_.sensorC})
        part->reserve(static_cast<size_t>(2 * bounds.longestS / bounds.periodS));
}

const char* GuidedHeating::stepInWords() const
{
    static const char* const words[] = {"at rest",   "a short pulse", "looking at the pulse",
                                        "full heat", "a pause",       "full heat to the top",
                                        "coasting",  "over"};
    return words[static_cast<size_t>(step_)];
}

void GuidedHeating::go(Step step, double timeS)
{
    step_ = step;
    stepFromS_ = timeS;
    duty_ = step == Step::Pulse ? pulseDuty : step == Step::First || step == Step::Second ? 1 : 0;
}

void GuidedHeating::cycle(double wallS)
{
    const auto seen = heating_.cycle(wallS, duty_);
    if (heating_.stopped() && step_ != Step::Ended)
        go(Step::Ended, 0);
    if (!seen || step_ == Step::Ended)
        return;
    record_.timeS.push_back(seen->timeS);
    record_.duty.push_back(seen->duty.value_or(0));
    record_.sensorC.push_back(seen->sensorC);
    pulseDutyS_ += step_ == Step::Pulse || step_ == Step::AfterPulse
                       ? seen->duty.value_or(0) * (seen->timeS - lastS_)
                       : 0;
    lastS_ = seen->timeS;
    hottestC_ = std::max(hottestC_, seen->sensorC);
    decide(*seen);
}

void GuidedHeating::decide(const WatchedHeating::Seen& seen)
{
    const double inStepS = seen.timeS - stepFromS_;
    const double waypointC = restC_ + (bounds_.topC - restC_) * 2 / 3;
    switch (step_) {
    case Step::Rest:
        restC_ = seen.sensorC;
        if (heating_.hasRested(record_, seen, inStepS))
            go(Step::Pulse, seen.timeS);
        break;
    case Step::Pulse:
        if (inStepS > pulseS || seen.sensorC > restC_ + pulseRiseK)
            go(Step::AfterPulse, seen.timeS);
        break;
    case Step::AfterPulse:
        if (inStepS > afterPulseS) {
            armFromPulse();
            go(Step::First, seen.timeS);
        }
        break;
    case Step::First:
        if (seen.sensorC > waypointC)
            go(Step::Pause, seen.timeS);
        break;
    case Step::Pause:
        if (inStepS > pauseS)
            go(Step::Second, seen.timeS);
        break;
    case Step::Second:
        // What is on its way through element and sensor still arrives.
        if (seen.sensorC + roughLagsS * slopeCPerS() > bounds_.topC)
            go(Step::Coast, seen.timeS);
        break;
    case Step::Coast:
        if (inStepS > coastS || seen.sensorC < hottestC_ - coastByK)
            go(Step::Ended, seen.timeS);
        break;
    case Step::Ended:
        break;
    }
}

double GuidedHeating::slopeCPerS() const
{
    constexpr double overS = 2;
    const size_t last = record_.timeS.size() - 1;
    size_t i = last;
    while (i > 0 && record_.timeS[last] - record_.timeS[i] < overS)
        --i;
    return i < last ? (record_.sensorC[last] - record_.sensorC[i]) / (record_.timeS[last] - record_.timeS[i])
                    : 0;
}

// Losses of that short time are left out; the checks have margins of a quarter.
void GuidedHeating::armFromPulse()
{
    const double riseK = hottestC_ - restC_;
    if (!(riseK > leastPulseRiseK)) {
        heating_.stop("a pulse of heat warmed the plate by less than 1 K: is the heater connected, the "
                      "sensor in the plate?");
        return;
    }
    PlateFigures rough;
    rough.powerW = powerW_;
    rough.ambientC = ambientC_;
    rough.heatCapacityJPerK = powerW_ * pulseDutyS_ / riseK;
    rough.elementLagS = roughLagsS / 2;
    rough.sensorLagS = roughLagsS * 3 / 8;
    rough.deadTimeS = roughLagsS / 8;
    heating_.arm(rough);
}

} // namespace stripwright
