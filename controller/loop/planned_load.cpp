#include "loop/planned_load.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

PlannedLoad::PlannedLoad(const HeatPlan& plan) : timeS_(plan.timeS), share_(plan.timeS.size())
{
    constexpr double slopeOverS = 5; // as that of a reading is taken
    const PlateFigures plate = figuresOf(plan.sheet.plate, plan.sheet.air.ambientC);
    delayS_ = plate.sensorLagS + plate.deadTimeS + slopeOverS / 2;
    double element = 0;
    for (size_t i = 1; i < timeS_.size(); ++i) {
        const double dtS = timeS_[i] - timeS_[i - 1];
        const double keep = plate.elementLagS > 0 ? std::exp(-dtS / plate.elementLagS) : 0;
        element = plan.duty[i - 1] + (element - plan.duty[i - 1]) * keep;
        const double slopeCPerS = (plan.plateC[i] - plan.plateC[i - 1]) / dtS;
        const double aloneW = plate.heatCapacityJPerK * slopeCPerS + plate.lossW(plan.plateC[i]);
        share_[i] = std::max(0.0, element - aloneW / plate.powerW);
    }
}

double PlannedLoad::shareAt(double profileS) const
{
    const auto after = std::upper_bound(timeS_.begin(), timeS_.end(), profileS - delayS_);
    return after == timeS_.begin() ? 0 : share_[static_cast<size_t>(after - timeS_.begin()) - 1];
}

} // namespace stripwright
