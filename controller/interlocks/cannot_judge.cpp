#include "interlocks/cannot_judge.h"

namespace stripwright {

static constexpr double longestWindows = 1.2;
static constexpr double longestWallS = 1; // a fast simulation may lose 6 s of plant time to the scheduler

Finding CannotJudge::examine(const Observation& seen, const HeatBalance& balance)
{
    if (balance.slopeCPerS() || !started_) {
        started_ = true;
        judgedPlantS_ = seen.plantS;
        judgedWallS_ = seen.wallS;
        readings_ = 0;
        return {};
    }
    readings_ += seen.sensorC ? 1 : 0;
    const double sinceS = seen.plantS - judgedPlantS_;
    if (said_ || readings_ == 0 || sinceS < longestWindows * balance.windowS() ||
        seen.wallS - judgedWallS_ < longestWallS)
        return {};
    said_ = true;
    return warning(
        Interlock::CannotJudge,
        "checks against the plate's model cannot judge: %d readings in %.0f s; look after the line "
        "to the plate",
        readings_, sinceS);
}

} // namespace stripwright
