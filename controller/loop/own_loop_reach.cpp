#include "loop/own_loop_reach.h"

#include "search/plate_reference.h"

#include <algorithm>
#include <cstdio>

namespace stripwright {

namespace {

struct Shortfall {
    double lastsS = 0, mostC = 0, wanted = 0, given = 0; ///< At its worst.
};

Shortfall shortfallOf(const HeatPlan& plan, const PlateType& plate)
{
    constexpr double littleDuty = 0.02;
    OwnLoopReach reach(plate, *std::max_element(plan.plateC.begin(), plan.plateC.end()));
    Shortfall found;
    double worst = 0;
    for (size_t i = 0; i + 1 < plan.timeS.size() && plan.timeS[i] < plan.heaterOffS; ++i) {
        const double dtS = plan.timeS[i + 1] - plan.timeS[i];
        const double most = reach.mostDuty(plan.plateC[i], (plan.plateC[i + 1] - plan.plateC[i]) / dtS, dtS);
        const double lacks = plan.duty[i] - most;
        if (lacks > littleDuty)
            found.lastsS += dtS;
        if (lacks > worst) {
            worst = lacks;
            found = {found.lastsS, plan.plateC[i], plan.duty[i], most};
        }
        reach.advance(std::min(plan.duty[i], most), plan.plateC[i], dtS);
    }
    return found;
}

} // namespace

std::vector<std::string> whyOwnLoopCannot(const HeatPlan& plan, const LoopSettings& settings)
{
    constexpr double mostHeldUpS = 10;
    if (settings.drive != DriveKind::Setpoint)
        return {};
    if (!settings.identified || !settings.identified->ownLoop) {
        if (settings.tellsDuty)
            return {};
        return {"this plate is driven by its set-point and does not tell what its own loop gives, and that "
                "loop was "
                "never learnt: tune it, then plan with the plate that tune has put onto the shelf"};
    }
    if (plan.plateC.empty() || plan.duty.size() != plan.plateC.size() ||
        plan.timeS.size() != plan.plateC.size())
        return {}; // said elsewhere
    PlateType plate = plan.sheet.plate;
    plate.ownLoop = settings.identified->ownLoop;
    plate.ownLoop->cutAfterS.reset();
    if (settings.watchdogProvenS > 0)
        plate.ownLoop->cutAfterS = settings.watchdogProvenS;
    const Shortfall shortfall = shortfallOf(plan, plate);
    if (!(shortfall.lastsS > mostHeldUpS))
        return {};
    char text[600];
    std::snprintf(
        text, sizeof text,
        "the plate's own loop cannot be brought to give this plan's heat: for %.0f s it wants more, at "
        "%.0f °C %.0f %% of the heater's power where %.0f %% can be had%s; plan again with the plate "
        "that tune has put onto the shelf",
        shortfall.lastsS, shortfall.mostC, 100 * shortfall.wanted, 100 * shortfall.given,
        plate.ownLoop->cutAfterS ? ""
                                 : ", since nobody has seen this plate cut its heater when the line falls "
                                   "silent and its set-point may not go far ahead (connect proves it)");
    return {text};
}

} // namespace stripwright
