#include "bench/plate_burden.h"

namespace stripwright {

constexpr double boardLagS = 12.5, boardStartC = 5; // 30 J/K on 2.4 W/K, and other sizes alike

void PlateBurden::act(PoweredPlate& plate, double timeS, double dtS)
{
    double takenW = 0;
    if (const auto boardJPerK = faults_.valueOf(Fault::ColdBoard, timeS)) {
        if (!boardC_)
            boardC_ = boardStartC;
        const double toBoardW = *boardJPerK / boardLagS * (plate.plateC() - *boardC_);
        *boardC_ += toBoardW * dtS / *boardJPerK;
        takenW += toBoardW;
    } else {
        boardC_.reset();
    }
    // Air cannot cool a plate below itself.
    if (const auto draughtW = faults_.valueOf(Fault::Draught, timeS); draughtW && plate.plateC() > ambientC_)
        takenW += *draughtW;
    plate.setHeatTakenW(takenW);
}

} // namespace stripwright
