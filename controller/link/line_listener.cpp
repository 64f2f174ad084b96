#include "link/line_listener.h"

#include "link/line_silence.h"
#include "link/line_time.h"

#include <poll.h>
#include <unistd.h>

namespace stripwright {

static constexpr double marginS = 0.04;

std::uint16_t checksumOf(const std::uint8_t* bytes, size_t count)
{
    unsigned sum = 0xFFFF;
    for (size_t i = 0; i < count; ++i) {
        sum ^= bytes[i];
        for (int bit = 0; bit < 8; ++bit)
            sum = sum & 1 ? sum >> 1 ^ 0xA001 : sum >> 1;
    }
    return static_cast<std::uint16_t>(sum);
}

bool isFrame(const std::vector<std::uint8_t>& bytes)
{
    return bytes.size() >= 4 && checksumOf(bytes.data(), bytes.size()) == 0; // of a frame and its checksum: 0
}

std::vector<std::uint8_t> LineListener::listen(double durationS)
{
    std::vector<std::uint8_t> heard;
    const int fd = modbus_get_socket(modbus_.get());
    const double endS = monotonicS() + durationS;
    while (heard.size() < 1024) {
        const int leftMs = static_cast<int>((endS - monotonicS()) * 1000);
        pollfd input{fd, POLLIN, 0};
        std::uint8_t bytes[256];
        if (leftMs <= 0 || ::poll(&input, 1, leftMs) <= 0)
            break;
        const ssize_t got = ::read(fd, bytes, sizeof bytes);
        if (got <= 0)
            break;
        heard.insert(heard.end(), bytes, bytes + got);
    }
    return heard;
}

std::vector<std::uint8_t> LineListener::ask(const ReadBlock& block)
{
    const auto byte = [](int value) { return static_cast<std::uint8_t>(value); };
    const int function = block.table == RegisterTable::Coil       ? MODBUS_FC_READ_COILS
                         : block.table == RegisterTable::Discrete ? MODBUS_FC_READ_DISCRETE_INPUTS
                         : block.table == RegisterTable::Input    ? MODBUS_FC_READ_INPUT_REGISTERS
                                                                  : MODBUS_FC_READ_HOLDING_REGISTERS;
    asked_ = {byte(block.unit),  byte(function),         byte(block.start >> 8),
              byte(block.start), byte(block.count >> 8), byte(block.count)};
    const int sent = modbus_send_raw_request(modbus_.get(), asked_.data(), static_cast<int>(asked_.size()));
    const unsigned sum = checksumOf(asked_.data(), asked_.size());
    asked_.push_back(byte(static_cast<int>(sum & 0xFF)));
    asked_.push_back(byte(static_cast<int>(sum >> 8)));
    if (sent == -1)
        return {};
    return listen(readCharacters(block.table, block.count) * characterS(line_) + longestSilenceS(line_) +
                  marginS);
}

} // namespace stripwright
