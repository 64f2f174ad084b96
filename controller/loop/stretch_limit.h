#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// What a moment of the plan is worth protecting: before the paste melts a heat can be given up without harm.
enum class Phase { Preheat, Soak, Reflow, Cooling };

/// By the plan's stages; a moment that no stage names is taken for preheat until the heat ends.
Phase phaseAt(const HeatPlan& plan, double profileS);

double soakEndOf(const HeatPlan& plan); ///< Where the climb to reflow begins; 0 if no stage says it.

/// Tells when a stretch of the plan has begun and when it is over: a second in all, then two seconds without.
class Stretch {
public:
    bool advance(double stepS, double paceShare); ///< True: it began or ended with this step.
    bool on() const { return on_; }

private:
    double slowedForS_ = 0, fullPaceS_ = 0;
    bool on_ = false;
};

/// Counts how long each phase stood, or went at less than half its pace, because the plate could not follow:
/// at most 20 s in reflow, else 60 s.
class StretchLimit {
public:
    bool exceeded(Phase phase, double stretchedByS);
    double stretchedS(Phase phase) const { return stretchedS_[static_cast<size_t>(phase)]; }

private:
    double stretchedS_[4] = {};
};

} // namespace stripwright
