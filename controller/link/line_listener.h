#pragma once

#include "link/modbus_open.h"
#include "link/read_blocks.h"

#include <cstdint>

namespace stripwright {

/// A serial line opened only to hear what is on it, byte for byte. Not for the control cycle.
class LineListener {
public:
    explicit LineListener(const SerialLine& line) : line_(line), modbus_(openRtu(line_, port_, error_)) {}
    bool isOpen() const { return modbus_ != nullptr; }

    std::vector<std::uint8_t> listen(double durationS);
    /// Sends one read, and returns every byte until the answer should have ended.
    std::vector<std::uint8_t> ask(const ReadBlock& block);
    const std::vector<std::uint8_t>& asked() const { return asked_; } ///< The last request as sent.

private:
    SerialLine line_;
    SerialPort port_;
    std::string error_;
    ModbusContext modbus_;
    std::vector<std::uint8_t> asked_;
};

std::uint16_t checksumOf(const std::uint8_t* bytes, size_t count); ///< CRC-16 of an RTU frame.

/// Whether the bytes are one whole RTU frame.
bool isFrame(const std::vector<std::uint8_t>& bytes);

} // namespace stripwright
