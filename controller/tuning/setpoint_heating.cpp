#include "tuning/setpoint_heating.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double smallStepK = 25, smallAtLeastS = 60, smallAtMostS = 150;
static constexpr double overshootRoomK = 15, nearTopK = 5, overTopK = 5, topAtLeastS = 40, topAtMostS = 200;
static constexpr double downK = 15, downS = 45, downAtMostS = 120, upK = 6, upS = 45, coastS = 180,
                        coastByK = 40;
static constexpr double unprovenLeadK = 15, unprovenStepK = 5, unprovenNoiseK = 0.5, leastRiseK = 2;
static constexpr double settledS = 15, settledK = 0.5;
static constexpr double knownShare = 0.15;

SetpointHeating::SetpointHeating(Plate& plate, const HeatingBounds& bounds, double powerW, double ambientC,
                                 bool cutsWhenSilent)
    : heating_(plate, bounds), bounds_(bounds), powerW_(powerW), ambientC_(ambientC),
      cutsWhenSilent_(cutsWhenSilent)
{
    for (std::vector<double>* part : {&record_.timeS, &record_.duty, &record_.sensorC, &record_.setpointC})
        part->reserve(static_cast<size_t>(2 * bounds.longestS / bounds.periodS));
    record_.ownRampCPerS = bounds.ownRampCPerS;
}

const char* SetpointHeating::stepInWords() const
{
    static const char* const words[] = {"at rest",     "a small step", "up to the top", "at the top",
                                        "a step down", "a step up",    "coasting",      "over"};
    return words[static_cast<size_t>(step_)];
}

std::optional<double> SetpointHeating::duty() const
{
    return duty_;
}

void SetpointHeating::go(Step step, double timeS)
{
    step_ = step;
    stepFromS_ = timeS;
}

// The top leaves room for the overshoot of a loop that has wound up on the way.
std::optional<double> SetpointHeating::setpointC()
{
    const double topC = bounds_.topC - overshootRoomK;
    std::optional<double> wantedC;
    if (step_ == Step::Small)
        wantedC = restC_ + smallStepK;
    if (step_ == Step::Climb || step_ == Step::Top)
        wantedC = topC;
    if (step_ == Step::Down || step_ == Step::Up)
        wantedC = topC - downK + (step_ == Step::Up ? upK : 0);
    if (!wantedC || cutsWhenSilent_ || !record_.dutyTold)
        return wantedC;
    if (const double leadK = unprovenC_ - sensorC_;
        leadK < unprovenLeadK - unprovenStepK || leadK > unprovenLeadK + unprovenNoiseK)
        unprovenC_ = sensorC_ + unprovenLeadK; // in steps, from which more can be told than from a ramp
    return std::min(*wantedC, unprovenC_);
}

void SetpointHeating::cycle(double wallS)
{
    const auto seen = heating_.cycleAtC(wallS, setpointC());
    if (heating_.stopped() && step_ != Step::Ended)
        go(Step::Ended, 0);
    if (!seen || step_ == Step::Ended)
        return;
    record_.timeS.push_back(seen->timeS);
    record_.sensorC.push_back(seen->sensorC);
    record_.setpointC.push_back(seen->setpointC > bounds_.setpointFloorC ? seen->setpointC : 0);
    // One reading tells what the loop gives now; a plate that tells it once tells it always.
    record_.dutyTold = seen->duty.has_value();
    record_.duty.push_back(seen->duty.value_or(0));
    duty_ = seen->duty;
    sensorC_ = seen->sensorC;
    hottestC_ = std::max(hottestC_, seen->sensorC);
    decide(*seen);
}

bool SetpointHeating::settled(double timeS) const
{
    double lowC = INFINITY, highC = -INFINITY;
    for (size_t i = record_.timeS.size(); i-- > 0 && record_.timeS[i] > timeS - settledS;) {
        lowC = std::min(lowC, record_.sensorC[i]);
        highC = std::max(highC, record_.sensorC[i]);
    }
    return highC - lowC < settledK;
}

std::optional<PlateFit> SetpointHeating::armIfKnown()
{
    const std::optional<PlateFit> fit = fitSoFar(record_, powerW_, ambientC_);
    const bool toldApart = fit && (record_.dutyTold || fit->fullHeatS >= 2 * leastFullHeatS);
    if (!toldApart || !fit->ownLoop || !(fit->capacityError < knownShare) || !(fit->gainError < knownShare))
        return fit;
    HeatingRecord given = record_;
    OwnLoopModel loop(*fit->ownLoop);
    if (!record_.dutyTold)
        given.duty = dutyOfLoop(record_, loop);
    heating_.arm(fit->figures, loop, given);
    armed_ = true;
    return fit;
}

void SetpointHeating::decide(const WatchedHeating::Seen& seen)
{
    const double inStepS = seen.timeS - stepFromS_, topC = bounds_.topC - overshootRoomK;
    const bool heats = step_ == Step::Climb || step_ == Step::Top || step_ == Step::Down || step_ == Step::Up;
    if (heats && seen.sensorC > bounds_.topC + overTopK)
        return go(Step::Coast, seen.timeS); // a loop that overshoots so far has told what it can
    switch (step_) {
    case Step::Rest:
        restC_ = seen.sensorC;
        if (heating_.hasRested(record_, seen, inStepS))
            go(Step::Small, seen.timeS);
        break;
    case Step::Small:
        if (inStepS < smallAtLeastS || (inStepS < smallAtMostS && !settled(seen.timeS)))
            break;
        if (!(hottestC_ - restC_ > leastRiseK)) {
            heating_.stop("a set-point " + std::to_string(std::lround(smallStepK)) +
                          " K higher warmed the plate by less than 2 K: is the heater connected, the plate's "
                          "own loop switched on, the sensor in the plate?");
            break;
        }
        armIfKnown();
        if (!armed_)
            heating_.letRise();
        go(Step::Climb, seen.timeS);
        break;
    case Step::Climb:
        if (!armed_ && !halfWayLooked_ && seen.sensorC > (restC_ + topC) / 2) {
            halfWayLooked_ = true;
            if (const auto fit = armIfKnown();
                fit && !armed_ && bounds_.ownRampCPerS && !record_.dutyTold && fit->fullHeatS <= 0)
                heating_.stop("its own ramp keeps the plate's loop from full heat, without which nothing can "
                              "be learnt of it: set that ramp faster than the plate can climb, and say so in "
                              "\"own_ramp_C_per_s\"");
        }
        if (seen.sensorC > topC - nearTopK)
            go(Step::Top, seen.timeS);
        break;
    case Step::Top:
        if (inStepS > topAtMostS || (inStepS > topAtLeastS && settled(seen.timeS)))
            go(Step::Down, seen.timeS);
        break;
    case Step::Down:
        if (inStepS > downAtMostS || (inStepS > downS && settled(seen.timeS)))
            go(Step::Up, seen.timeS);
        break;
    case Step::Up:
        if (inStepS > upS)
            go(Step::Coast, seen.timeS);
        break;
    case Step::Coast:
        if (inStepS > coastS || seen.sensorC < hottestC_ - coastByK - downK)
            go(Step::Ended, seen.timeS);
        break;
    case Step::Ended:
        break;
    }
}

} // namespace stripwright
