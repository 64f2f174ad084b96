#include "loop/stretch_limit.h"

namespace stripwright {

Phase phaseAt(const HeatPlan& plan, double profileS)
{
    if (!(profileS < plan.heaterOffS))
        return Phase::Cooling;
    for (const Stage& stage : plan.stages)
        if (profileS >= stage.startS && profileS < stage.endS) {
            if (stage.name == "reflow" || stage.name == "peak")
                return Phase::Reflow;
            if (stage.name == "soak")
                return Phase::Soak;
        }
    return Phase::Preheat;
}

double soakEndOf(const HeatPlan& plan)
{
    double endS = 0;
    for (const Stage& stage : plan.stages)
        if (stage.name == "soak" || (stage.name == "preheat" && endS <= 0))
            endS = stage.endS;
    return endS;
}

bool Stretch::advance(double stepS, double paceShare)
{
    constexpr double beginsAfterS = 1, endsAfterS = 2;
    slowedForS_ += stepS * (1 - paceShare);
    fullPaceS_ = paceShare < 1 ? 0 : fullPaceS_ + stepS;
    if (fullPaceS_ > endsAfterS)
        slowedForS_ = 0;
    const bool before = on_;
    on_ = slowedForS_ > beginsAfterS;
    return on_ != before;
}

bool StretchLimit::exceeded(Phase phase, double stretchedByS)
{
    constexpr double longestS = 60, longestInReflowS = 20;
    double& soFarS = stretchedS_[static_cast<size_t>(phase)];
    soFarS += stretchedByS;
    return soFarS > (phase == Phase::Reflow ? longestInReflowS : longestS);
}

} // namespace stripwright
