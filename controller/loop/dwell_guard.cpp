#include "loop/dwell_guard.h"

#include "rules/joint_solder.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

// No paste says how long old solder may be liquid: as long as the plan had it, and a little, for its hands.
static double longestForHands(const HeatPlan& plan, double liquidusC)
{
    constexpr double spareS = 20;
    double plannedS = 0;
    for (const PlanCurve& curve : plan.curves)
        if (curve.station.kind == StationKind::Joint)
            plannedS = std::max(plannedS, timeAboveS({plan.timeS, curve.highC}, liquidusC));
    return std::max(mostLiquidS, plannedS + spareS);
}

// Of LED bodies at the joints worked on, which are no hotter: those of a Fit are there from the start, of a
// Swap one that the first set-down brought. How long before it its joint has been as hot is taken for the
// least.
constexpr double bodyHotC = 217, bodyHotMostS = 150; // IPC/JEDEC J-STD-020D Table 5-2

static double longestForBodies(const HeatPlan& plan)
{
    if (!plan.hands || plan.hands->doneS.empty())
        return bodyHotMostS;
    const double setDownS = plan.hands->doneS.front();
    double hotFromS = 0;
    for (const PlanCurve& curve : plan.curves)
        if (curve.station.kind == StationKind::Joint)
            hotFromS =
                std::max(hotFromS, firstRiseThrough({plan.timeS, curve.lowC}, bodyHotC).value_or(setDownS));
    return bodyHotMostS + std::max(0.0, setDownS - hotFromS);
}

DwellGuard::DwellGuard(const HeatPlan& plan)
    : liquidusC_(plan.sheet.paste.countLiquidusC), longestS_(INFINITY), bodiesMostS_(longestForBodies(plan)),
      capC_(plan.sheet.strip.led.bodyMaxC), elementLagS_(plan.sheet.plate.elementLagS)
{
    if (!meltsJoints(plan.sheet.heat)) {
        mayMelt_ = false;
        liquidusC_ = capC_ = std::min(capC_, staysSolidBelowC(plan.sheet) - solidRoomK / 2);
        return;
    }
    if (plan.sheet.heat != HeatKind::Fit) {
        liquidusC_ = plan.sheet.oldAlloy ? oldMeltsC(plan.sheet) : lowestOldLiquidusC;
        byPaste_ = false;
        longestS_ = longestForHands(plan, liquidusC_);
        return;
    }
    const Window& window = plan.sheet.paste.aboveLiquidusS;
    if (window.max && !window.maxIsHabit)
        longestS_ = *window.max;
    if (!(liquidusC_ > 0))
        liquidusC_ = plan.sheet.paste.alloy.liquidusC;
}

DwellGuard::Verdict DwellGuard::advance(double dtS, double hottestC, double risingCPerS,
                                        std::span<const PartEstimate> parts)
{
    if (!(hottestC < liquidusC_))
        aboveS_ += dtS;
    if (!(hottestC < bodyHotC))
        bodiesHotS_ += dtS;
    Verdict verdict = Verdict::Go;
    if (!(hottestC + std::max(0.0, risingCPerS) * elementLagS_ < capC_)) {
        verdict = Verdict::CapNear;
        std::snprintf(text_.data(), text_.size(),
                      "heat ended before the plan's time: hottest joint est. %.1f °C, %s %.1f °C", hottestC,
                      mayMelt_ ? "LED body limit" : "joints stay solid below", capC_);
    } else if (aboveS_ > 0 && aboveS_ + elementLagS_ >= longestS_) {
        verdict = Verdict::DwellReached;
        std::snprintf(text_.data(), text_.size(),
                      "heat ended before the plan's time: hottest joint est. %.0f s above liquidus, the %s "
                      "allows %.0f s",
                      aboveS_, byPaste_ ? "paste" : "plan", longestS_);
    }
    if (verdict == Verdict::Go && bodiesHotS_ > 0 && bodiesHotS_ + elementLagS_ >= bodiesMostS_) {
        verdict = Verdict::DwellReached;
        std::snprintf(
            text_.data(), text_.size(),
            "heat ended before the plan's time: hottest joint est. %.0f s above %.0f °C, LED bodies "
            "allow %.0f s",
            bodiesHotS_, bodyHotC, bodyHotMostS);
    }
    for (size_t i = 0; i < std::min(parts.size(), nearS_.size()); ++i)
        if (judgePart(i, dtS, parts[i]) != Verdict::Go)
            verdict = Verdict::PartNear;
    return verdict;
}

DwellGuard::Verdict DwellGuard::judgePart(size_t i, double dtS, const PartEstimate& part)
{
    double& nearS = nearS_[i];
    const PartModel& model = *part.model;
    const double rising = std::max(0.0, part.risingCPerS);
    const double nearC = model.nearC.value_or(INFINITY), nearMostS = model.nearMostS.value_or(INFINITY);
    if (!(part.hotC < nearC))
        nearS += dtS;
    if (!(part.hotC + rising * elementLagS_ < model.maxC)) {
        std::snprintf(text_.data(), text_.size(),
                      "heat ended before the plan's time: %s est. %.1f °C and rising %.2f K/s, its limit is "
                      "%.1f °C",
                      model.station.name().c_str(), part.hotC, rising, model.maxC);
        return Verdict::PartNear;
    }
    if (nearS > 0 && nearS + elementLagS_ >= nearMostS) {
        std::snprintf(text_.data(), text_.size(),
                      "heat ended before the plan's time: %s est. %.0f s above %.1f °C, it may be %.0f s",
                      model.station.name().c_str(), nearS, nearC, nearMostS);
        return Verdict::PartNear;
    }
    return Verdict::Go;
}

} // namespace stripwright
