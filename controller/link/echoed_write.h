#pragma once

#include "link/read_blocks.h"

#include <cstdint>
#include <modbus.h>

namespace stripwright {

/// Writes registers or one coil and compares the answer with what was sent: libmodbus's own write functions
/// accept an echo of another address or value (#463). Returns the count written, or -1 with errno set as
/// libmodbus does; if the echo differs, `echo` says how.
int writeComparingEcho(modbus_t* modbus, const ReadBlock& place, const std::uint16_t* words, bool serial,
                       std::string& echo);

} // namespace stripwright
