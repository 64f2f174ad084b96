#include "bench/rtu_frame.h"

#include <algorithm>

namespace stripwright {

std::uint16_t rtuCrc(std::span<const std::uint8_t> bytes)
{
    unsigned crc = 0xffff;
    for (const std::uint8_t byte : bytes) {
        crc ^= byte;
        for (int bit = 0; bit < 8; ++bit)
            crc = crc & 1 ? crc >> 1 ^ 0xa001 : crc >> 1;
    }
    return static_cast<std::uint16_t>(crc);
}

bool isRtuFrame(std::span<const std::uint8_t> bytes)
{
    // Over its own CRC as well the CRC is 0.
    return bytes.size() >= 4 && bytes.size() <= longestRtuFrame && rtuCrc(bytes) == 0;
}

std::vector<std::uint8_t> rtuFrame(int unit, std::span<const std::uint8_t> pdu)
{
    std::vector<std::uint8_t> frame;
    frame.reserve(pdu.size() + 3);
    frame.push_back(static_cast<std::uint8_t>(unit));
    frame.insert(frame.end(), pdu.begin(), pdu.end());
    const std::uint16_t crc = rtuCrc(frame);
    frame.push_back(static_cast<std::uint8_t>(crc));
    frame.push_back(static_cast<std::uint8_t>(crc >> 8));
    return frame;
}

int bitsPerCharacter(SerialFrame frame)
{
    return frame == SerialFrame::F8N1 ? 10 : 11;
}

RtuTiming rtuTiming(int baud, SerialFrame frame, double turnaroundS)
{
    const double characterS = static_cast<double>(bitsPerCharacter(frame)) / baud;
    const double silenceS = baud > 19200 ? 0.00175 : 3.5 * characterS;
    return {characterS, silenceS, std::max(turnaroundS, silenceS)};
}

} // namespace stripwright
