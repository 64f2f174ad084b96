#pragma once

#include "loop/joint_estimate.h"

namespace stripwright {

/// Ends the heat, whatever the plan says, when the hottest joint's estimate has been above liquidus for about
/// as long as the paste allows, or above 217 °C for as long as LED bodies do, or is about to pass the LED
/// body's cap; in a heat in which no joint may melt, when it is about to reach what keeps joints solid; and
/// when a protected part is about to pass its limit, or has been near it for as long as it may.
///
/// "About": heat already in the element goes on into the plate for one element lag. The time a joint stays
/// liquid while the plate cools is the plan's business, which ends the heat early enough for it.
class DwellGuard {
public:
    enum class Verdict { Go, DwellReached, CapNear, PartNear };

    explicit DwellGuard(const HeatPlan& plan); ///< Limits that are habit do not count.
    Verdict advance(double dtS, double hottestC, double risingCPerS,
                    std::span<const PartEstimate> parts = {});

    const char* text() const { return text_.data(); } ///< Of the last verdict but Go: what, and its numbers.
    double aboveLiquidusS() const { return aboveS_; }

private:
    Verdict judgePart(size_t i, double dtS, const PartEstimate& part);

    bool byPaste_ = true; ///< What longestS_ goes by, else the plan.
    double liquidusC_, longestS_, bodiesMostS_, capC_, elementLagS_;
    double aboveS_ = 0, bodiesHotS_ = 0;
    bool mayMelt_ = true;
    std::array<double, partModelsMost> nearS_{}; // of each part
    std::array<char, 200> text_{};
};

} // namespace stripwright
