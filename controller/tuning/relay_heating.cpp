#include "tuning/relay_heating.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stripwright {

static constexpr double hysteresisK = 0.3; // over three times the noise of a reading in steps of 0.1 K
static constexpr double firstDuty = 1, alike = 0.1;
static constexpr int mostSwings = 12;

RelayHeating::RelayHeating(Plate& plate, const HeatingBounds& bounds, const PlateFigures& figures,
                           double aroundC)
    : heating_(plate, bounds), aroundC_(aroundC), ambientC_(figures.ambientC), high_(firstDuty)
{
    heating_.arm(figures);
}

void RelayHeating::cycle(double wallS)
{
    const auto seen = heating_.cycle(wallS, over_ ? 0 : duty_);
    over_ = over_ || heating_.stopped();
    if (seen && !over_)
        decide(*seen);
}

void RelayHeating::decide(const WatchedHeating::Seen& seen)
{
    if (swing_) {
        const double dtS = seen.timeS - lastS_;
        swing_->highestC = std::max(swing_->highestC, seen.sensorC);
        swing_->lowestC = std::min(swing_->lowestC, seen.sensorC);
        swing_->dutyS += seen.duty.value_or(0) * dtS;
        swing_->riseKs += (seen.sensorC - ambientC_) * dtS;
    }
    lastS_ = seen.timeS;
    sensorC_ = seen.sensorC;
    if (duty_ > 0 && seen.sensorC > aroundC_ + hysteresisK) {
        reached_ = true;
        duty_ = 0;
    } else if (duty_ <= 0 && seen.sensorC < aroundC_ - hysteresisK) {
        if (swing_) {
            swing_->toS = seen.timeS;
            // Twice the mean duty makes the two halves alike.
            high_ = std::clamp(2 * swing_->dutyS / swing_->periodS(), 0.1, 1.0);
            swings_.push_back(*swing_);
            if (threeAlike() || swings() >= mostSwings) {
                over_ = true;
                return;
            }
        }
        if (reached_) {
            swing_ = Swing{};
            swing_->fromS = seen.timeS;
            swing_->high = high_;
        }
        duty_ = high_;
    }
}

bool RelayHeating::threeAlike() const
{
    if (swings() < 3)
        return false;
    const Swing& last = swings_.back();
    for (size_t i = swings_.size() - 3; i < swings_.size(); ++i)
        if (std::abs(swings_[i].periodS() / last.periodS() - 1) > alike ||
            std::abs(swings_[i].amplitudeK() / last.amplitudeK() - 1) > alike ||
            std::abs(swings_[i].high / last.high - 1) > alike)
            return false;
    return true;
}

RelayResult RelayHeating::result() const
{
    RelayResult result;
    if (!why().empty())
        result.refusals.push_back("it was broken off: " + why());
    if (!threeAlike()) {
        result.refusals.push_back("no three swings were alike in " + std::to_string(swings()) +
                                  ": was there a draught, or a load on the plate?");
        return result;
    }
    const Swing& last = swings_.back();
    const double a = last.amplitudeK();
    if (!(a > 1.2 * hysteresisK)) {
        result.refusals.push_back("the reading swung by too little to tell anything");
        return result;
    }
    const double behindRad = std::numbers::pi / 2 - std::asin(hysteresisK / a),
                 toUltimate = std::numbers::pi / 2 / behindRad;
    result.ultimateDutyPerK = toUltimate * 4 * (last.high / 2) / (std::numbers::pi * a);
    result.ultimatePeriodS = last.periodS() / toUltimate;
    result.staticGainKPerDuty = last.riseKs / std::max(last.dutyS, 1e-9);
    result.gains = {.kPerK = result.ultimateDutyPerK / 2.2,
                    .tiS = 2.2 * result.ultimatePeriodS,
                    .tdS = result.ultimatePeriodS / 6.3};
    return result;
}

} // namespace stripwright
