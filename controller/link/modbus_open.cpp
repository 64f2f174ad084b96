#include "link/modbus_open.h"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <fcntl.h>
#include <sys/select.h>
#include <unistd.h>

namespace stripwright {

void CloseModbus::operator()(modbus_t* modbus) const
{
    modbus_close(modbus);
    modbus_free(modbus);
}

void setResponseTimeout(modbus_t* modbus, double timeoutS)
{
    const double us = std::max(1.0, timeoutS * 1e6);
    const auto whole = static_cast<std::uint32_t>(us / 1e6);
    modbus_set_response_timeout(modbus, whole, static_cast<std::uint32_t>(us - whole * 1e6));
}

// libmodbus waits with select(), which must not see a descriptor of 1024 or more (#837).
static bool nextDescriptorFitsSelect(std::string& why)
{
    const int fd = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
    if (fd >= 0)
        ::close(fd);
    if (fd >= 0 && fd < FD_SETSIZE)
        return true;
    why = "too many open files in this process to open the line to the plate";
    return false;
}

static ModbusContext prepared(modbus_t* made, std::string& why)
{
    ModbusContext modbus(made);
    if (!modbus) {
        why = "out of memory";
        return modbus;
    }
    modbus_set_error_recovery(modbus.get(), MODBUS_ERROR_RECOVERY_NONE);
    modbus_set_byte_timeout(modbus.get(), 0, 0); // the response timeout then bounds the whole answer
    return modbus;
}

ModbusContext openTcp(const std::string& address, const std::string& service, double timeoutS,
                      std::string& why)
{
    if (!nextDescriptorFitsSelect(why))
        return {};
    ModbusContext modbus = prepared(modbus_new_tcp_pi(address.c_str(), service.c_str()), why);
    if (!modbus)
        return modbus;
    setResponseTimeout(modbus.get(), timeoutS); // also the connect timeout
    const auto start = std::chrono::steady_clock::now();
    if (modbus_connect(modbus.get()) == 0)
        return modbus;
    // errno after a connect timeout is misleading (#736): the time taken tells more.
    const int code = errno;
    const double tookS = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    why = tookS >= 0.9 * timeoutS ? "no answer in time"
          : code == ECONNREFUSED  ? "connection refused"
                                  : std::strerror(code);
    return {};
}

ModbusContext openRtu(const SerialLine& line, SerialPort& port, std::string& why)
{
    // libmodbus takes a rate it does not know for 9600 without a word.
    const std::vector<int>& bauds = serialBauds();
    if (std::find(bauds.begin(), bauds.end(), line.baud) == bauds.end()) {
        why = std::to_string(line.baud) + " baud is no rate a serial line is opened with";
        return {};
    }
    if (!nextDescriptorFitsSelect(why))
        return {};
    if (!port.take(line.device)) {
        why = port.error();
        return {};
    }
    const char parity = line.frame == SerialFrame::F8E1 ? 'E' : line.frame == SerialFrame::F8O1 ? 'O' : 'N';
    const int stopBits = line.frame == SerialFrame::F8N2 ? 2 : 1;
    ModbusContext modbus = prepared(modbus_new_rtu(line.device.c_str(), line.baud, parity, 8, stopBits), why);
    const auto refused = [&](std::string reason) {
        why = std::move(reason);
        modbus.reset();
        port.release();
        return ModbusContext();
    };
    if (!modbus)
        return refused(why);
    if (modbus_connect(modbus.get()) != 0)
        return refused(line.device + " cannot be set to its baud and frame: " + std::strerror(errno));
    port.shut();
    port.askForLowLatency();
    if (line.direction == SendDirection::Kernel &&
        modbus_rtu_set_serial_mode(modbus.get(), MODBUS_RTU_RS485) != 0)
        return refused("the driver of " + line.device +
                       " does not turn an RS-485 line round: set \"direction\" to \"adapter\" if the adapter "
                       "does it, else to \"rts-high\" or \"rts-low\"");
    if (line.direction == SendDirection::RtsHigh || line.direction == SendDirection::RtsLow) {
        if (!port.hasRts())
            return refused(line.device + " has no RTS output to turn an RS-485 line round with: set "
                                         "\"direction\" to \"adapter\" or \"kernel\"");
        modbus_rtu_set_rts(modbus.get(), line.direction == SendDirection::RtsHigh ? MODBUS_RTU_RTS_UP
                                                                                  : MODBUS_RTU_RTS_DOWN);
    }
    return modbus;
}

} // namespace stripwright
