#pragma once

#include "bench/simulated_plate.h"

namespace stripwright {

/// What a register can stand for.
enum class Quantity {
    Sensor,
    StripSensor,
    Duty,
    Setpoint,
    Status,
    Counter,
    Watchdog,
    Enable,
    Fan,
    StripLifted,
    OwnRamp,
    Channel
};

/// Where a simulated plate keeps its quantities: what its link file says, less the line and the truth
/// channels, and what no link file says. Bits of `status` are one for a sensor fault and two for a watchdog
/// that has cut the heater; where status is a single bit it is the latter.
struct PlateMap {
    std::string name, what;
    PlateLink link;
    RegisterField truth;                  ///< Truth channel 0; the others follow without a gap.
    std::optional<RegisterField> ownRamp; ///< C/s, written; of a plate with its own loop.
    bool gapsRefused = false; ///< An address that stands for nothing is refused even when read along.
};

/// "plain" first, which is the one that is meant when nothing is said.
const std::vector<std::string>& plateMapNames();

/// None: no map of that name, or it cannot be driven so.
std::optional<PlateMap> plateMap(const std::string& name, DriveKind drive);

PlateMap withoutWatchdog(PlateMap map); ///< Of a plate that has none: no such register, no such bit.

PlateMap withoutWatchdogBit(PlateMap map); ///< Of a plate whose status does not tell that it has cut.
PlateMap withoutDuty(PlateMap map);        ///< Of a plate with its own loop that does not tell what it gives.
PlateMap withoutOwnRamp(PlateMap map);     ///< No register switches off the ramp of its own.

/// Options of a plate that shows itself through this map.
void fitTo(SimulatedPlateOptions& options, const PlateMap& map);

/// The map's link with this plate's truth channels, watchdog time and times of reading and relay, and its own
/// ramp switched off where it has one; the line is the caller's to fill in.
PlateLink linkTo(const PlateMap& map, const SimulatedPlate& plate);

struct PlacedQuantity {
    Quantity quantity;
    RegisterField field;
    int channel = 0; ///< Of Channel.
};
std::vector<PlacedQuantity> quantitiesOf(const PlateLink& link);

/// Where everything stands, one line each, by the names of the link file.
std::string plateMapText(const std::string& name);

} // namespace stripwright
