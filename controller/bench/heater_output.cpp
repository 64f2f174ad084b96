#include "bench/heater_output.h"

#include <algorithm>

namespace stripwright {

static constexpr double roundingS = 1e-9;

void HeaterOutput::cut()
{
    if (on_)
        stoodS_ = 0;
    on_ = false;
    owedS_ = onForS_ = 0;
}

void HeaterOutput::beginWindow(double asked)
{
    const double wantedS = asked * windowS_ + owedS_;
    onForS_ = std::clamp(wantedS, 0.0, windowS_);
    if (leastS_ > 0 && wantedS < leastS_)
        onForS_ = 0;
    else if (leastS_ > 0 && windowS_ - wantedS < leastS_)
        onForS_ = windowS_;
    owedS_ = std::clamp(wantedS - onForS_, -leastS_, leastS_);
    intoWindowS_ = 0;
}

// Without a window it goes on and off as seldom as its least time allows, half of what it then gives at once
// owed and half given in advance.
bool HeaterOutput::wants(double asked)
{
    if (asked <= 0) {
        owedS_ = 0;
        return false;
    }
    if (windowS_ > 0)
        return intoWindowS_ < onForS_ - roundingS;
    if (asked >= 1)
        return true;
    const double halfS = leastS_ * (1 - asked) / 2;
    return on_ ? owedS_ > -halfS + roundingS : owedS_ >= halfS - roundingS;
}

double HeaterOutput::untilChangeS() const
{
    double untilS = 1e9;
    if (stoodS_ < leastS_ - roundingS)
        untilS = leastS_ - stoodS_;
    if (began_) {
        untilS = std::min(untilS, windowS_ - intoWindowS_);
        if (intoWindowS_ < onForS_ - roundingS)
            untilS = std::min(untilS, onForS_ - intoWindowS_);
    }
    return untilS;
}

double HeaterOutput::give(double asked, double dtS)
{
    if (windowS_ == 0 && leastS_ == 0)
        return asked;
    double onS = 0;
    for (double leftS = dtS; leftS > roundingS;) {
        if (windowS_ > 0 && (began_ ? intoWindowS_ >= windowS_ - roundingS : asked > 0)) {
            began_ = true;
            beginWindow(asked);
        }
        if (const bool on = wants(asked); on != on_ && stoodS_ >= leastS_ - roundingS) {
            on_ = on;
            stoodS_ = 0;
        }
        const double passS = std::min(leftS, untilChangeS());
        onS += on_ ? passS : 0;
        stoodS_ += passS;
        intoWindowS_ += began_ ? passS : 0;
        if (windowS_ == 0)
            owedS_ = std::clamp(owedS_ + (asked - on_) * passS, -2 * leastS_, 2 * leastS_);
        leftS -= passS;
    }
    return onS < roundingS ? 0 : onS > dtS - roundingS ? 1 : onS / dtS;
}

} // namespace stripwright
