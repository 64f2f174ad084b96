#include "woken_plate.h"

#include <algorithm>
#include <ctime>
#include <sched.h>

namespace stripwright {

WokenPlate::WokenPlate(double plantPeriodS, size_t mostReads) : plantPeriodS_(plantPeriodS)
{
    readS_.reserve(mostReads);
}

std::optional<PlateReading> WokenPlate::read()
{
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    if (readS_.size() < readS_.capacity())
        readS_.push_back(static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec));
    hadPriority_ = sched_getscheduler(0) == SCHED_FIFO;
    advance(plantPeriodS_);
    return ReferencePlate::read();
}

std::vector<double> latenessS(const std::vector<double>& beganS, double periodS)
{
    std::vector<double> late;
    double deadlineS = beganS.empty() ? 0 : beganS.front();
    for (const double nowS : beganS) {
        late.push_back(nowS - deadlineS);
        deadlineS = std::max(deadlineS + periodS, nowS);
    }
    if (!late.empty()) {
        const double promptestS = *std::min_element(late.begin(), late.end());
        for (double& one : late)
            one -= promptestS;
    }
    return late;
}

} // namespace stripwright
