#pragma once

#include "planner/heat_plan.h"

#include <functional>
#include <string>

namespace stripwright {

/// What a run has come to, for a look at the rest of its heat.
struct RunSoFar {
    std::vector<double> timeS, plateC; ///< Run time from 0, rising, about 1 s apart; plate body as estimated.
    double profileS = 0;               ///< Place in the plan now.
    /// What the plate turned out to take, as factors of the plan's figures for full power: heat to get warmer
    /// and losses. Weak mains raise both alike.
    double capacityFactor = 1, lossFactor = 1;
    /// Contact as estimated, as factors of the plan's nominal; none: the plan's own range.
    struct Contact {
        double low = 1, nominal = 1, high = 1;
        bool ofParts = true; ///< Else parts to protect stay at the plan's own range.
    };
    std::optional<Contact> contact;
};

/// A way through the rest of a heat on the times of the plan: stages, cards and the end of the heat stay
/// where they are in profile time, what changes is how hot the plate gets and how fast profile time goes.
struct RemainingPath {
    std::vector<double> plateC, duty; ///< At the plan's times; duty as in HeatPlan.
    std::vector<double> pace;         ///< Profile seconds in a second, from each time to the next; > 0.
    double peakShiftK = 0, soakPace = 1, peakPace = 1; ///< What was changed of the plan.
    double longerS = 0;                                ///< Rest of the heat, against the plan.
    double worstMargin = 0, worstMarginAsIs = 0;       ///< Normalised, of this and of going on as before.
    bool better = false;                               ///< Enough to be worth a change.
    /// Trade habits that the plan kept and this way misses, worst first: "time liquid in all, site 6; ...".
    /// They do not decide. None of a way that is no better.
    std::string missedHabits;
};

/// Looks for the way through the rest of the heat with the largest worst normalised margin, on the limits of
/// the plan's sheet that are no habit, by the plan's models of joints, of new LEDs on them, and of parts, as
/// they get coldest, as stated and hottest. Never hotter than the plan's trip temperature less 8 K, never
/// more than a minute longer. `asBefore`: the path in use, none: the plan's own. Stops looking when
/// `outOfTime` says so.
RemainingPath remainingPath(const HeatPlan& plan, const RunSoFar& run, const RemainingPath* asBefore,
                            const std::function<bool()>& outOfTime);

} // namespace stripwright
