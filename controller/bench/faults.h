#pragma once

#include <limits>
#include <optional>
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
    // Of the plate again.
    SensorDetached, ///< Sensor lies beside the plate: its reading goes to ambient with a lag of a minute.
    SensorShort,    ///< Thermocouple shorted at its plug: reads ambient.
    Spike,          ///< One sample reads `value` K high.
    Draught,        ///< Takes `value` W from the plate, for a minute if nothing else is said.
    ColdBoard,      ///< A board of `value` J/K at 5 °C is laid on the plate, and warms with a lag of 12.5 s.
    HalfPower,      ///< The heater gives half of what it should: one of two elements, or phases, is out.
    Mains,          ///< Mains at `value` of their voltage: the heater's power goes with its square.
    Reboot,         ///< Unreachable for `value` s; forgets what was written, its counter starts from 0.
    ForeignMaster,  ///< Somebody else writes duty 1, or the highest set-point, every second.
    // On the line.
    BitErrors,  ///< This share of the answers: bits flipped over RTU; over TCP no answer, as from a gateway
                ///< that checks the frame.
    Exceptions, ///< Every request is refused with this exception code, and nothing is done.
    Trickle,    ///< Answers come one byte every 100 ms.
    Unplugged,  ///< The line is gone: connections closed and refused, or the pseudo-terminal hung up.
};

/// Names as `--fault` takes them, in the order of Fault: "sensor-open", ...
const std::vector<std::string>& faultNames();

struct TimedFault {
    Fault fault;
    double fromS = 0; ///< Plant seconds since the plate was switched on.
    double value = 1; ///< LateAnswer: seconds of the clock, not of the plant.
    double untilS = std::numeric_limits<double>::infinity();
};

/// "NAME[=VALUE][@FROM[..UNTIL]]", VALUE for those that take one. Throws std::invalid_argument with what was
/// expected.
TimedFault readFault(const std::string& text);

/// What NAME, VALUE, FROM and UNTIL mean, for a help text.
std::string faultsText();

/// The faults of one plate.
class FaultList {
public:
    FaultList(std::vector<TimedFault> faults) : faults_(std::move(faults)) {}

    void add(const TimedFault& fault) { faults_.push_back(fault); }
    const std::vector<TimedFault>& all() const { return faults_; }
    /// The value of the newest one of this kind that is there at that time.
    std::optional<double> valueOf(Fault fault, double timeS) const;
    bool has(Fault fault, double timeS) const { return valueOf(fault, timeS).has_value(); }

private:
    std::vector<TimedFault> faults_;
};

} // namespace stripwright
