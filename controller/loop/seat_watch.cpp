#include "loop/seat_watch.h"

#include <algorithm>
#include <cstdio>

namespace stripwright {

SeatWatch::Verdict SeatWatch::advance(double dtS, double plateC, const JointEstimate& joints)
{
    constexpr double enoughRiseK = 25, notSeatedShare = 0.5, sureAfterS = 5, seatedAfterS = 10;
    if (!firstPlateC_)
        firstPlateC_ = plateC;
    const double heardS = joints.sensorTrusted() ? joints.believedS() : 0;
    if (!joints.known() || joints.sensorSite() == 0 || heardS < seatedAfterS ||
        plateC - *firstPlateC_ < enoughRiseK) {
        forS_ = 0;
        return verdict_;
    }
    const double boundary = notSeatedShare * joints.planned().low;
    const Band contact = joints.contact();
    const bool away = contact.high < boundary;
    const bool seated = contact.low > boundary;
    forS_ = (verdict_ == Verdict::Go ? away : seated) ? forS_ + dtS : 0;
    if (forS_ < (verdict_ == Verdict::Go ? sureAfterS : seatedAfterS))
        return verdict_;
    forS_ = 0;
    verdict_ = verdict_ == Verdict::Go ? Verdict::NotSeated : Verdict::Go;
    if (verdict_ == Verdict::NotSeated)
        std::snprintf(
            text_.data(), text_.size(),
            "the strip does not lie on the plate as planned: thermocouple at site %d %.1f °C, plate "
            "%.1f °C, contact est. %.0f to %.0f %% of the plan's nominal, planned from %.0f %%",
            joints.sensorSite(), joints.stripC(), plateC, 100 * contact.low, 100 * contact.high,
            100 * joints.planned().low);
    return verdict_;
}

} // namespace stripwright
