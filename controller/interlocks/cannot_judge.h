#pragma once

#include "interlocks/finding.h"
#include "interlocks/heat_balance.h"

namespace stripwright {

/// Readings come, but for 6 s, or longer where they come seldom, too few to compare the plate with its model.
/// Warns, once: full silence is LinkLost's to end.
class CannotJudge {
public:
    Finding examine(const Observation& seen, const HeatBalance& balance);

private:
    bool started_ = false, said_ = false;
    double judgedPlantS_ = 0, judgedWallS_ = 0;
    int readings_ = 0;
};

} // namespace stripwright
