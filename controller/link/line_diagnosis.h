#pragma once

#include "link/modbus_line.h"

namespace stripwright {

// What a person can try after a plate could not be read when it was opened, in words. Not for the control
// cycle.

/// The plate refused `asked` with an exception: which of the file's registers it does not have.
std::string adviceAfterRefusal(const PlateLink& link, ModbusLine& line, const ReadBlock& asked,
                               int exception);

/// Nothing useful came back on a serial line, which must not be open elsewhere: listens to it, asks `asked`
/// once more and looks which of the units 1 to 10 answers, by reads alone. Takes 3 s at most.
std::string adviceAfterSilence(const PlateLink& link, const ReadBlock& asked);

/// The same over TCP, where there is nothing to listen to.
std::string adviceWithoutAnswer(const ReadBlock& asked);

/// What the sensor would read in each other order, if it reads no temperature as it is but would in another
/// one; else empty. A sensor that says it is none, or one that no order mends, is a faulty sensor.
std::string adviceOnWordOrder(const PlateLink& link, const std::uint16_t* sensorWords);

} // namespace stripwright
