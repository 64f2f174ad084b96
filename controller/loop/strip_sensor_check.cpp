#include "loop/strip_sensor_check.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double missingAfterS = 2, steadyAfterS = 5, farBelowAfterS = 3, plausibleAfterS = 10;
static constexpr double jumpK = 5;

/// More than any contact of the plan, plate offset and thermocouple explain together.
static double farK(double plateC)
{
    constexpr double roomC = 25;
    return 8 + 0.03 * std::max(0.0, plateC - roomC);
}

bool StripSensorCheck::jumped(double stripC)
{
    if (second_.ageS < 0) {
        second_ = {stripC, 0, 0};
        return false;
    }
    const bool jump = std::abs(stripC - second_.stripC) > jumpK;
    if (jump || second_.ageS >= 1)
        second_ = {stripC, 0, 0};
    return jump;
}

bool StripSensorCheck::coolsOnAWarmingPlate(double stripC, double plateC)
{
    if (fiveSeconds_.ageS >= 0 && fiveSeconds_.ageS < 5)
        return false;
    const bool cools =
        fiveSeconds_.ageS >= 5 && stripC < fiveSeconds_.stripC - 2 && plateC > fiveSeconds_.plateC + 1;
    fiveSeconds_ = {stripC, plateC, 0};
    return cools;
}

StripSensorCheck::News StripSensorCheck::advance(double dtS, std::optional<double> stripC,
                                                 const Expected& expected)
{
    usableC_.reset();
    if (!stripC || !std::isfinite(*stripC)) {
        missingS_ += dtS;
        if (state_ == State::Never || state_ == State::Missing || missingS_ < missingAfterS)
            return News::None;
        const bool wasOff = state_ == State::Off;
        state_ = State::Missing;
        return wasOff ? News::None : News::Lost;
    }
    const bool fromLast = state_ != State::Never && missingS_ < missingAfterS;
    spike_ = fromLast && !spike_ && std::abs(*stripC - lastC_) > jumpK;
    if (spike_)
        return News::None; // one reading alone is a disturbance on the wire
    lastC_ = *stripC;
    missingS_ = 0;
    for (Mark* mark : {&second_, &fiveSeconds_})
        if (mark->ageS >= 0)
            mark->ageS += dtS;
    const bool jump = jumped(*stripC);
    const bool cools = coolsOnAWarmingPlate(*stripC, expected.plateC);

    const double far = farK(expected.plateC);
    const bool below = *stripC < expected.lowC - far;
    const bool plausible = !below && *stripC < expected.highC + far;
    farBelowS_ = below ? farBelowS_ + dtS : 0;
    plausibleS_ = plausible && !jump ? plausibleS_ + dtS : 0;
    steadyS_ = jump ? 0 : steadyS_ + dtS;

    switch (state_) {
    case State::Never:
        state_ = State::Trusted;
        break;
    case State::Trusted:
        if (cools || (expected.agreed && farBelowS_ >= farBelowAfterS)) {
            state_ = State::Off;
            return News::FellOff;
        }
        if (jump) {
            state_ = State::Unsteady;
            return News::Jumped;
        }
        break;
    case State::Unsteady:
        if (cools) {
            state_ = State::Off;
            return News::FellOff;
        }
        if (steadyS_ >= steadyAfterS)
            state_ = State::Trusted;
        break;
    case State::Missing:
    case State::Off:
        if (plausibleS_ < plausibleAfterS)
            break;
        state_ = State::Trusted;
        usableC_ = stripC;
        return News::Back;
    }
    if (state_ == State::Trusted)
        usableC_ = stripC;
    return News::None;
}

} // namespace stripwright
