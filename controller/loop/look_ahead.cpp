#include "loop/look_ahead.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double lookEveryS = 10, offPathK = 3, offPathForS = 3, stretchedByS = 5;
static constexpr double contactMoved = 0.2; // share of its factor
static constexpr double powerWindowS = 30, leastGivenS = 6;

LookAhead::LookAhead(const HeatPlan& plan, double soakEndS, bool inCycle)
    : replanner_(plan, inCycle), soakEndS_(soakEndS)
{
}

bool LookAhead::worthALook(const Moment& now) const
{
    const double nominal = now.contact ? now.contact->nominal : 1,
                 before = contactThen_ ? contactThen_->nominal : 1;
    return offPathS_ > offPathForS || now.stretchedS - stretchedThenS_ > stretchedByS ||
           (now.profileS > soakEndS_ && !soakLooked_) || std::abs(nominal / before - 1) > contactMoved;
}

const Replanner::Answer* LookAhead::advance(const Moment& now, const HeatBalance& balance)
{
    if (now.timeS - notedAtS_ >= 1) {
        replanner_.note(now.timeS, now.plateC);
        notedAtS_ = now.timeS;
    }
    if (balance.givenShare() && balance.shownShare()) {
        const double keep = std::exp(-now.stepS / powerWindowS);
        givenSum_ = keep * givenSum_ + now.stepS * *balance.givenShare();
        shownSum_ = keep * shownSum_ + now.stepS * *balance.shownShare();
    }
    offPathS_ = std::abs(now.behindK) > offPathK ? offPathS_ + now.stepS : 0;
    if (now.timeS - askedAtS_ >= lookEveryS && worthALook(now)) {
        const double powerShare = givenSum_ > leastGivenS ? std::clamp(shownSum_ / givenSum_, 0.5, 1.2) : 1;
        if (replanner_.ask(now.profileS, powerShare, now.contact)) {
            askedAtS_ = now.timeS;
            stretchedThenS_ = now.stretchedS;
            contactThen_ = now.contact;
            soakLooked_ = now.profileS > soakEndS_;
        }
    }
    const Replanner::Answer* answer = replanner_.take();
    return answer && answer->path.better ? answer : nullptr;
}

} // namespace stripwright
