#include "bench/plate_clock.h"

#include "bench/simulated_plate.h"

#include <cmath>

namespace stripwright {

PlateClock::PlateClock(double speed) : speed_(speed), start_(std::chrono::steady_clock::now()) {}

double PlateClock::owedS(double plantS) const
{
    return plantS / speed_ - std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
}

bool PlateClock::isDue(double plantS) const
{
    return owedS(plantS + SimulatedPlate::stepS) <= 0;
}

int PlateClock::waitMs(double plantS) const
{
    const double leftS = owedS(plantS + SimulatedPlate::stepS);
    return leftS <= 0 ? 0 : static_cast<int>(std::ceil(std::min(leftS, 1.0) * 1000));
}

bool PlateClock::dropBacklog(double plantS)
{
    const double owed = owedS(plantS);
    if (owed > -1)
        return false;
    start_ +=
        std::chrono::duration_cast<std::chrono::steady_clock::duration>(std::chrono::duration<double>(-owed));
    return true;
}

} // namespace stripwright
