#pragma once

#include <optional>

namespace stripwright {

/// What one control cycle knows, as the checks see it. Physics is judged in plant time, the line in wall
/// time: a simulated plate runs faster than the wall clock, its line does not.
struct Observation {
    double plantS = 0;             ///< Plant time, rising.
    double wallS = 0;              ///< Monotonic wall time, rising.
    bool answered = false;         ///< A valid answer came this cycle.
    double longestSilenceS = 1;    ///< Wall time without a valid answer after which the line counts as lost.
    bool refused = false;          ///< The plate answered this cycle that it will not be read.
    double failedShare = 0;        ///< Of the last 20 requests, those without a valid answer.
    bool sensorFault = false;      ///< The plate says so, or its reading is a sentinel or out of range.
    bool watchdogTripped = false;  ///< The plate's bit that says that it has cut its heater by itself.
    std::optional<double> sensorC; ///< Reading, if there is a usable one.
    std::optional<unsigned> counter; ///< The plate's own update counter.
    std::optional<double> duty;      ///< Heat given to the plate since the last cycle; none: unknown.
    double dutyUnsure = 0;           ///< It may be as much more, or less, than `duty` says.
    double loadShare = 0;            ///< Share of full power that the strip should draw now, by the plan.
    bool fullDemand = false;         ///< The heater should be at or near full power.
    double fullShare = 1;            ///< Of its power, where a loop of the plate's own gives no more.
    bool heating = false;            ///< A run is asking for heat.
    bool commandConfirmed = true;    ///< The last command was read back equal.
    bool commandRefused = false;     ///< The plate answered to it, and stands at something else.
    bool foreignWrite = false;       ///< Somebody else has written what drives the heater.
    bool forgotten = false; ///< The plate stands at no heat although heat was commanded and confirmed.
    std::optional<double> expectedC; ///< What the sensor should read while a plan is followed.
};

} // namespace stripwright
