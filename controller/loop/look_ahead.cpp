#include "loop/look_ahead.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double lookEveryS = 10, offPathK = 3, offPathForS = 3, stretchedByS = 5;
static constexpr double contactMoved = 0.2; // share of its factor

LookAhead::LookAhead(const HeatPlan& plan, double soakEndS, bool inCycle)
    : replanner_(plan, inCycle), soakEndS_(soakEndS), plate_(plan)
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
    plate_.advance(now.stepS, now.profileS, now.sensorC, balance);
    offPathS_ = std::abs(now.behindK) > offPathK ? offPathS_ + now.stepS : 0;
    wanted_ = wanted_ || now.marked;
    if (wanted_ || (now.timeS - askedAtS_ >= lookEveryS && worthALook(now))) {
        if (replanner_.ask(now.profileS, plate_, now.contact)) {
            ++looks_;
            wanted_ = false;
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
