#include "tuning/fall_watch.h"

#include "tuning/cooling_down.h"

#include <algorithm>

namespace stripwright {

static constexpr double fallsK = 3, coldForS = 20, warmerK = 1;
static constexpr double arrivesS = 30, hotterK = 8; // what stands in element and lags comes after the end
static constexpr double silentS = 60;

FallWatch::FallWatch(Plate& plate, const HeatingBounds& bounds) : plate_(plate), bounds_(bounds) {}

bool FallWatch::getsHotter() const
{
    return firstC_ && timeS_ > arrivesS && highestC_ > *firstC_ + hotterK;
}

const char* FallWatch::stepInWords() const
{
    return getsHotter() ? "GETS HOTTER THOUGH IT IS OFF: PULL THE MAINS PLUG" : "off: watched until it cools";
}

std::optional<double> FallWatch::duty() const
{
    return duty_;
}

void FallWatch::cycle(double wallS)
{
    if (!firstWallS_)
        firstWallS_ = wallS;
    timeS_ = (wallS - *firstWallS_) * bounds_.plantSPerWallS;
    off_ = plate_.heaterOff();
    const std::optional<PlateReading> reading = plate_.read();
    sensorC_.reset();
    duty_ = reading ? reading->duty : std::nullopt;
    if (reading && !reading->sensorFault)
        sensorC_ = reading->sensorC;
    if (!why_.empty())
        over_ = true;
    if (reading)
        answeredS_ = wallS;
    else if (wallS - std::max(answeredS_, *firstWallS_) > silentS)
        why_ = "the plate does not answer";
    if (!sensorC_)
        return;
    if (!firstC_)
        firstC_ = sensorC_;
    highestC_ = std::max(highestC_, *sensorC_);
    if (*sensorC_ >= safeToTouchC || *sensorC_ > coldFromC_ + warmerK) {
        coldSinceS_ = timeS_;
        coldFromC_ = *sensorC_;
    }
    over_ = over_ || *sensorC_ < highestC_ - fallsK || timeS_ - coldSinceS_ > coldForS;
}

} // namespace stripwright
