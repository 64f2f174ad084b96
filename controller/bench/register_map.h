#pragma once

#include "bench/simulated_plate.h"

namespace stripwright {

/// Register map of the simulated plate. Addresses are 0-based; unit 1; Float32 is ABCD.
///
///     table    address  type    unit        what
///     input    0        int16   0.1 C       sensor; 32767: no sensor
///     input    1        uint16  bits        status: 1 sensor fault, 2 watchdog has cut the heater
///     input    2        uint16  -           update counter, one a sensor sample (0.1 s of plant time), wraps
///     input    3        uint16  0.0001      duty applied to the heater
///     input    10+2i    float32 C           truth channel i, which a real plate would not have; names in the
///     link file holding  0        uint16  0.0001      duty, 0 to 10000; duty drive only holding  1 int16 0.1
///     C       set-point, 0 to 4000; 0: off; set-point drive only holding  2        uint16  0.1 s watchdog
///     time, 5 to 600 coil     0        -       0 or 1      fan coil     1        -       0 or 1      strip
///     lifted off the plate: tells the simulation what the hands did
///
/// The register of the other drive reads 0 and refuses to be written (exception 02).
namespace registers {
constexpr int sensor = 0, status = 1, counter = 2, applied = 3, truth = 10; // input
constexpr int duty = 0, setpoint = 1, watchdog = 2;                         // holding
constexpr int fan = 0, stripLifted = 1;                                     // coils
constexpr int inputCount = truth + 2 * maxExtraChannels, holdingCount = 3, coilCount = 2;
constexpr int unit = 1;
constexpr int noSensorRaw = 32767, sensorFaultBit = 1, watchdogTrippedBit = 2;
} // namespace registers

/// The plate link file of a simulated plate that listens on this port of 127.0.0.1.
PlateLink linkTo(const SimulatedPlate& plate, int port);

/// Where each quantity of this drive stands, one line each, by the names of the link file.
std::string registerMapText(DriveKind drive);

} // namespace stripwright
