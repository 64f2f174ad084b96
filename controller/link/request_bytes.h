#pragma once

#include "link/read_blocks.h"

#include <cstdint>
#include <modbus.h>

namespace stripwright {

/// A request as it stands on the line, from the unit to before any checksum.
struct RequestBytes {
    std::uint8_t bytes[7 + 2 * MODBUS_MAX_WRITE_REGISTERS];
    size_t length = 0;
};
RequestBytes readRequest(const ReadBlock& block);
RequestBytes writeRequest(const ReadBlock& place, const std::uint16_t* words); ///< Registers, or one coil.

/// What an answer, from the unit on, gave of that block; bits as words of 0 or 1. Returns the count, or -1
/// with errno set as libmodbus does.
int takeAnswer(const RequestBytes& request, const ReadBlock& block, const std::uint8_t* answer, size_t length,
               std::uint16_t* words);
/// Compares the answer to a write with what was sent: libmodbus's own write functions accept an echo of
/// another address or value (#463). Returns the count written, or -1 with errno set; if the echo differs,
/// `echo` says how.
int compareEcho(const RequestBytes& request, const ReadBlock& place, const std::uint8_t* answer,
                size_t length, std::string& echo);

} // namespace stripwright
