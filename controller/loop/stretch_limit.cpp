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

bool StretchLimit::exceeded(Phase phase, double stretchedByS)
{
    constexpr double longestS = 60, longestInReflowS = 20;
    double& soFarS = stretchedS_[static_cast<size_t>(phase)];
    soFarS += stretchedByS;
    return soFarS > (phase == Phase::Reflow ? longestInReflowS : longestS);
}

} // namespace stripwright
