#include "tuning/measured_plate.h"

#include "tuning/learnt_figures.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

// Four digits say more than any of these is known by, and read better than sixteen.
static double rounded(double value)
{
    if (!(std::abs(value) > 0) || !std::isfinite(value))
        return value;
    const double step = std::pow(10, std::floor(std::log10(std::abs(value))) - 3);
    return step < 1 ? std::round(value / step) / std::round(1 / step) : std::round(value / step) * step;
}

static std::string sourceOf(const PlateLink& link, bool fanOfBefore)
{
    const IdentifiedPlate& learnt = *link.identified;
    const std::string date = learnt.measuredUtc.substr(0, 10);
    char text[600];
    std::snprintf(text, sizeof text,
                  "measured on this plate%s %s: fit %.2f K RMS; heat capacity +- %.0f %%, losses +- %.0f %%, "
                  "lags +- %.0f %%, all for a heater of the %.0f W that were typed",
                  link.simulated ? ", a simulated one," : "", date.c_str(), learnt.fitRmsK,
                  std::max(1.0, std::ceil(100 * learnt.capacityError.value_or(0))),
                  std::max(1.0, std::ceil(100 * learnt.lossError.value_or(0))),
                  std::max(1.0, std::ceil(100 * learnt.lagError.value_or(0))), learnt.powerW);
    std::string source = text;
    if (fanOfBefore)
        source += "; fan_loss_W_per_K: as in this entry before";
    return source + "; length_mm, width_mm, thickness_mm: as they were typed; max_C: as its link allows";
}

double measuredPlateMaxC(const PlateLink& link, double typedMaxC)
{
    constexpr double most = 500; // that an entry may state
    return std::min({link.plateMaxC.value_or(link.sensorMaxC), typedMaxC, most});
}

std::string measuredPlateName(const std::string& linkName)
{
    return linkName + ", measured";
}

PlateType measuredPlate(const PlateLink& link, const PlateSize& size, double maxC,
                        const std::optional<PlateType>& before)
{
    const IdentifiedPlate& learnt = link.identified.value();
    PlateType plate;
    plate.id = measuredPlateId(link.name);
    plate.name = before ? before->name : measuredPlateName(link.name);
    plate.lengthMm = size.lengthMm;
    plate.widthMm = size.widthMm;
    plate.thicknessMm = size.thicknessMm;
    plate.powerW = learnt.powerW;
    plate.heatCapacityJPerK = rounded(learnt.heatCapacityJPerK);
    plate.lossWPerK = rounded(learnt.lossWPerK);
    plate.radiatingAreaM2 = rounded(learnt.radiatingAreaM2);
    const bool fanOfBefore = !learnt.fanLossWPerK && before && before->fanLossWPerK > 0;
    plate.fanLossWPerK = learnt.fanLossWPerK ? rounded(*learnt.fanLossWPerK)
                         : fanOfBefore       ? before->fanLossWPerK
                                             : 0;
    plate.lossRangeShare = lossRangeShare(learnt.lossError.value_or(0.05));
    plate.elementLagS = rounded(learnt.elementLagS);
    plate.sensorLagS = rounded(learnt.sensorLagS);
    plate.deadTimeS = rounded(learnt.deadTimeS);
    plate.maxC = maxC;
    plate.ownLoop = learnt.ownLoop;
    if (plate.ownLoop && link.watchdogProvenS > 0)
        plate.ownLoop->cutAfterS = rounded(link.watchdogProvenS);
    plate.source = sourceOf(link, fanOfBefore);
    return plate;
}

} // namespace stripwright
