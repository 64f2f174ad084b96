#include "link/modbus_words.h"

#include <cerrno>
#include <cstdio>
#include <modbus.h>

namespace stripwright {

std::string plain(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.6g", value);
    return text;
}

std::string inWords(const ReadBlock& block)
{
    static const char* const names[] = {"coil", "discrete input", "input register", "holding register"};
    std::string text = names[static_cast<size_t>(block.table)];
    text += block.count == 1
                ? " " + std::to_string(block.start)
                : "s " + std::to_string(block.start) + " to " + std::to_string(block.start + block.count - 1);
    return text;
}

std::string inWordsWithUnit(const ReadBlock& block)
{
    return inWords(block) + " of unit " + std::to_string(block.unit);
}

bool isException(int code)
{
    return code > MODBUS_ENOBASE && code <= EMBXGTAR;
}

bool isDamage(int code)
{
    return code == EMBBADCRC || code == EMBBADDATA || code == EMBBADEXC || code == EMBMDATA ||
           code == EMBBADSLAVE;
}

bool deviceIsGone(int code)
{
    return code == EIO || code == ENXIO || code == ENODEV || code == EBADF || code == ECONNRESET;
}

std::string refusalInWords(int exception)
{
    static const char* const names[] = {"",
                                        "illegal function",
                                        "illegal data address",
                                        "illegal data value",
                                        "device failure",
                                        "acknowledge, still at work",
                                        "busy",
                                        "not acknowledged",
                                        "memory parity error",
                                        "",
                                        "no path through the gateway",
                                        "no answer from the unit behind the gateway"};
    char number[8];
    std::snprintf(number, sizeof number, "%02X", static_cast<unsigned>(exception) & 0xffu);
    const std::string name = exception < 12 ? names[exception] : "";
    return std::string("refused with exception ") + number + (name.empty() ? "" : " (" + name + ")");
}

std::string described(int code, bool serial)
{
    if (code == ETIMEDOUT)
        return "no answer in time";
    if (serial && deviceIsGone(code))
        return "the serial device is gone: is its adapter unplugged?";
    if (code == ECONNRESET || code == EPIPE || code == EIO || code == 0)
        return "the plate closed the connection";
    if (code == EMBMDATA)
        return "too many for one request";
    if (isException(code))
        return refusalInWords(code - MODBUS_ENOBASE);
    if (code == EMBBADCRC)
        return "the answer is damaged, its checksum is wrong";
    if (code == EMBBADSLAVE)
        return "another unit answered";
    if (code == EMBBADDATA)
        return "the answer does not fit the request";
    return modbus_strerror(code);
}

std::string hex(const std::uint8_t* bytes, size_t count)
{
    std::string text;
    for (size_t i = 0; i < count; ++i) {
        char one[4];
        std::snprintf(one, sizeof one, i ? " %02X" : "%02X", bytes[i]);
        text += one;
    }
    return text;
}

} // namespace stripwright
