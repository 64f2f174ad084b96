#pragma once

#include <string>
#include <vector>

namespace stripwright {

/// What can go wrong with the simulated plate. By name in `faultNames()`.
enum class Fault {
    SensorOpen,  ///< Reading is the "no sensor" value, status bit set; the plate's own loop cuts its heat.
    SensorStuck, ///< Reading stands still, counter and heater go on.
    Silent,      ///< No request is answered; the plate's own watchdog runs out.
    HeaterOpen,  ///< No heat whatever is commanded.
    RelayWelded, ///< Full heat whatever duty is commanded, watchdog included: only the enable output, or a
                 ///< cut-out in the supply, ends it.
    OverTemperature, ///< Full heat for any command above zero; zero and the watchdog still cut it.
    WriteIgnored,    ///< Writes are acknowledged and change nothing.
    CounterStuck,    ///< Update counter stands still.
    StripSensorOpen, ///< Strip thermocouple reads the "no sensor" value.
    EnableWelded,    ///< The enable output no longer takes the power from the heater, though it reads off.
    // On the line: seen by a client of a server, not by one that calls the plate itself.
    WrongUnit,  ///< Answers carry another unit's number.
    WrongEcho,  ///< Writes are carried out, and acknowledged with another value than was written.
    LateAnswer, ///< One answer comes `value` seconds late.
    JunkBytes,  ///< Three bytes that belong to no frame come right before every answer.
};

/// Names as `--fault` takes them, in the order of Fault: "sensor-open", ...
const std::vector<std::string>& faultNames();

struct TimedFault {
    Fault fault;
    double fromS = 0; ///< Plant seconds since the plate was switched on; it stays.
    double value = 1; ///< LateAnswer: seconds of the clock, not of the plant.
};

/// "NAME", "NAME@SECONDS" or "late-answer=SECONDS@SECONDS". Throws std::invalid_argument with what was
/// expected.
TimedFault readFault(const std::string& text);

} // namespace stripwright
