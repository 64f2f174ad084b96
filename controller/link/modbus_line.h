#pragma once

#include "link/plate_link.h"

#include <cstdint>
#include <memory>

namespace stripwright {

/// One Modbus TCP connection with request and answer, nothing else: no retry of a failed answer, no meaning
/// of values. Belongs to one thread. After any failure that leaves the stream in doubt it is closed:
/// libmodbus answers every later request with "invalid data" once one reply came late (its issue #255), only
/// a new connection helps.
class ModbusLine {
public:
    /// Finds the host's addresses. Throws LinkError if there are none within `timeoutS`.
    ModbusLine(const std::string& host, int port, int unit, double timeoutS);
    ~ModbusLine();
    ModbusLine(const ModbusLine&) = delete;
    ModbusLine& operator=(const ModbusLine&) = delete;

    /// All addresses of the host share `timeoutS`. `responseTimeoutS` then bounds each whole answer.
    bool open(double timeoutS, double responseTimeoutS);
    void close();
    bool isOpen() const { return open_; }

    /// Reads `count` registers, or bits as words of 0 or 1. `words` is only touched by a whole valid answer.
    bool read(RegisterTable table, int address, int count, std::uint16_t* words);
    /// Writes registers or one coil. True means acknowledged, not done: libmodbus does not compare the echo
    /// (#463).
    bool write(RegisterTable table, int address, int count, const std::uint16_t* words);

    bool lastWasException() const { return exception_; } ///< The device answered, but refused.
    const std::string& error() const
    {
        return error_;
    } ///< Of the last failure, in words; empty after success.

private:
    struct Context;
    template <class Call>
    bool transact(int expected, const char* what, RegisterTable table, int address, int count, Call call);

    std::string place_;                  // "127.0.0.1 port 502"
    std::vector<std::string> addresses_; // numeric
    std::string service_;
    int unit_;
    size_t answering_ = 0; // the address that worked last is tried first
    std::unique_ptr<Context> context_;
    bool open_ = false, exception_ = false;
    std::string error_;
};

std::string inWords(RegisterTable table, int address, int count); ///< "input registers 0 to 9".

} // namespace stripwright
