#pragma once

#include "link/plate_link.h"

#include <cstdint>
#include <span>

namespace stripwright {

/// Modbus RTU frames, by "Modbus over serial line" 1.02: unit, PDU, CRC with its low byte first.
constexpr size_t longestRtuFrame = 256;

/// CRC-16 with polynomial 0xA001, from 0xFFFF: 0x4B37 for the bytes "123456789".
std::uint16_t rtuCrc(std::span<const std::uint8_t> bytes);

bool isRtuFrame(std::span<const std::uint8_t> bytes); ///< Length and CRC.
std::vector<std::uint8_t> rtuFrame(int unit, std::span<const std::uint8_t> pdu);

int bitsPerCharacter(SerialFrame frame); ///< Start, parity and stop bits included: 10 or 11.

struct RtuTiming {
    double characterS = 0;
    double silenceS = 0;    ///< Ends a frame: 3.5 characters, and 1.75 ms above 19200 baud.
    double turnaroundS = 0; ///< From the end of a request to the answer; never less than the silence.
};
RtuTiming rtuTiming(int baud, SerialFrame frame, double turnaroundS);

} // namespace stripwright
