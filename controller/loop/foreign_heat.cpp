#include "loop/foreign_heat.h"

#include <cstdio>

namespace stripwright {

static constexpr double sayAgainS = 10;
static constexpr double noDuty = 0.01; // below, a plate that drives itself only rounds

// A plate with a loop of its own gives duty by itself; its set-point says whether it was told to.
static double dutyOf(const PlateReading& reading)
{
    return reading.setpointC ? 0 : reading.duty.value_or(0);
}

bool ForeignHeat::shownBy(const PlateReading& reading)
{
    return reading.toldToHeat || reading.foreignWrite || dutyOf(reading) > noDuty ||
           reading.enabled.value_or(false);
}

std::array<char, eventTextBytes> ForeignHeat::news(const PlateReading& reading, double wallS)
{
    std::array<char, eventTextBytes> text{};
    const bool lately = shownWallS_ && wallS - *shownWallS_ <= sayAgainS;
    shownWallS_ = wallS;
    if (lately)
        return text;
    std::array<char, 24> setpoint{};
    if (reading.setpointC)
        std::snprintf(setpoint.data(), setpoint.size(), ", set-point %.1f °C", *reading.setpointC);
    const char* enable = !reading.enabled   ? ""
                         : *reading.enabled ? ", enable output on"
                                            : ", enable output off";
    std::snprintf(
        text.data(), text.size(),
        "something else drives this plate while no heat is asked for (duty %.0f %%%s%s): heater off is sent "
        "again; disconnect the other master",
        100 * dutyOf(reading), setpoint.data(), enable);
    return text;
}

} // namespace stripwright
