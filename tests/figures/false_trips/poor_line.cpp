#include "poor_line.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

PoorLine::PoorLine(SimulatedPlate& plate, const LineTrouble& trouble, double periodS)
    : plate_(plate), trouble_(trouble), periodS_(periodS),
      mostInARow_(static_cast<int>(std::max(1.0, 3 * periodS) / periodS + 1e-9) - 1), random_(trouble.seed)
{
}

void PoorLine::nextCycle()
{
    if (deafCycles_ > 0)
        --deafCycles_;
    else if (happens(trouble_.burstsPerHour * periodS_ / 3600))
        deafCycles_ = std::uniform_int_distribution(2, 3)(random_);
}

std::optional<PlateReading> PoorLine::read()
{
    std::optional<PlateReading> reading = plate_.read();
    if (lostInARow_ < mostInARow_ && (deafCycles_ > 0 || happens(trouble_.lostShare))) {
        ++lost_;
        ++lostInARow_;
        return {};
    }
    lostInARow_ = 0;
    if (reading && trouble_.stepK > 0)
        reading->sensorC = std::round(reading->sensorC / trouble_.stepK) * trouble_.stepK;
    const bool spike =
        !spiked_ && happens(trouble_.spikesPerHour * periodS_ / 3600); // two in a row are a fault
    spiked_ = reading && spike;
    if (spiked_) {
        reading->sensorC += std::uniform_real_distribution(-50.0, 50.0)(random_);
        ++spikes_;
    }
    return reading;
}

bool PoorLine::said(bool done)
{
    silent_ = done && lostInARow_ < mostInARow_ && (deafCycles_ > 0 || happens(trouble_.lostShare));
    return done && !silent_;
}

} // namespace stripwright
