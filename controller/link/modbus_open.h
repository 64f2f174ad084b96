#pragma once

#include "link/plate_link.h"
#include "link/serial_port.h"

#include <memory>
#include <modbus.h>

namespace stripwright {

struct CloseModbus {
    void operator()(modbus_t* modbus) const;
};
using ModbusContext = std::unique_ptr<modbus_t, CloseModbus>;

/// Open and without any recovery of libmodbus's own, which never returns on a dead terminal; null, and `why`,
/// on failure.
ModbusContext openTcp(const std::string& address, const std::string& service, double timeoutS,
                      std::string& why);
/// Takes `port` for itself.
ModbusContext openRtu(const SerialLine& line, SerialPort& port, std::string& why);

/// Bounds each whole answer, not each byte of it.
void setResponseTimeout(modbus_t* modbus, double timeoutS);

} // namespace stripwright
