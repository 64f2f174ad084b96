#include "loop/dwell_guard.h"

#include "analysis/solid_heats.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

DwellGuard::DwellGuard(const HeatPlan& plan)
    : liquidusC_(plan.sheet.paste.countLiquidusC), longestS_(INFINITY), capC_(plan.sheet.strip.led.bodyMaxC),
      elementLagS_(plan.sheet.plate.elementLagS)
{
    if (!meltsJoints(plan.sheet.heat)) {
        mayMelt_ = false;
        liquidusC_ = capC_ = std::min(capC_, staysSolidBelowC(plan.sheet) - solidRoomK / 2);
        return;
    }
    const Window& window = plan.sheet.paste.aboveLiquidusS;
    if (window.max && !window.maxIsHabit)
        longestS_ = *window.max;
    if (!(liquidusC_ > 0))
        liquidusC_ = plan.sheet.paste.alloy.liquidusC;
}

DwellGuard::Verdict DwellGuard::advance(double dtS, double hottestC)
{
    const double risingCPerS = started_ && dtS > 0 ? (hottestC - lastC_) / dtS : 0;
    started_ = true;
    lastC_ = hottestC;
    if (!(hottestC < liquidusC_))
        aboveS_ += dtS;
    // Heat already in the element goes on into the plate for one element lag.
    if (!(hottestC + std::max(risingCPerS, 0.0) * elementLagS_ < capC_))
        return Verdict::CapNear;
    return aboveS_ >= longestS_ ? Verdict::DwellReached : Verdict::Go;
}

} // namespace stripwright
