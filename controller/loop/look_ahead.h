#pragma once

#include "interlocks/heat_balance.h"
#include "loop/replanner.h"

namespace stripwright {

/// Decides when the rest of a heat is worth another look: when
/// the reading is 3 K off its path for 3 s, when the plan was stretched by 5 s more, when the contact
/// estimate moved, and once where the soak ends; at most every 10 s. At once when the hands have marked what
/// the solder does.
class LookAhead {
public:
    LookAhead(const HeatPlan& plan, double soakEndS, bool inCycle);

    struct Moment {
        double timeS = 0, stepS = 0; ///< Of the run.
        double plateC = 0, sensorC = 0, behindK = 0, profileS = 0, stretchedS = 0;
        std::optional<RunSoFar::Contact> contact;
        bool marked = false; ///< The hands have, in this cycle.
    };
    /// An answer that is better than the path in use, once.
    const Replanner::Answer* advance(const Moment& now, const HeatBalance& balance);

    int looks() const { return looks_; }                          ///< Asked for so far.
    bool looking() const { return wanted_ || replanner_.busy(); } ///< An answer is to come.

private:
    bool worthALook(const Moment& now) const;

    Replanner replanner_;
    const double soakEndS_;
    double notedAtS_ = -1, askedAtS_ = 0, offPathS_ = 0, stretchedThenS_ = 0;
    PlateLearnt plate_;
    std::optional<RunSoFar::Contact> contactThen_;
    bool soakLooked_ = false, wanted_ = false;
    int looks_ = 0;
};

} // namespace stripwright
