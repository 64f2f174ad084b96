#include "bench/register_device.h"

#include <algorithm>
#include <array>

namespace stripwright {

namespace {

enum Function {
    ReadCoils = 1,
    ReadDiscretes = 2,
    ReadHoldings = 3,
    ReadInputs = 4,
    WriteCoil = 5,
    WriteHolding = 6,
    WriteCoils = 15,
    WriteHoldings = 16
};
enum Refusal { IllegalFunction = 1, IllegalAddress = 2, IllegalValue = 3, NoSuchUnit = 0x0B };

// Most of one request, by the Modbus application protocol 1.1b3.
constexpr int mostReadWords = 125, mostReadBits = 2000, mostWrittenWords = 123, mostWrittenBits = 1968;

using Bytes = std::vector<std::uint8_t>;

int word(std::span<const std::uint8_t> bytes, size_t at)
{
    return bytes[at] << 8 | bytes[at + 1];
}

bool isWrite(int function)
{
    return function == WriteCoil || function == WriteHolding || function == WriteCoils ||
           function == WriteHoldings;
}

Bytes refusal(std::span<const std::uint8_t> pdu, int code)
{
    return {static_cast<std::uint8_t>(pdu[0] | 0x80), static_cast<std::uint8_t>(code)};
}

std::optional<RegisterTable> tableReadBy(int function)
{
    switch (function) {
    case ReadCoils:
        return RegisterTable::Coil;
    case ReadDiscretes:
        return RegisterTable::Discrete;
    case ReadHoldings:
        return RegisterTable::Holding;
    case ReadInputs:
        return RegisterTable::Input;
    default:
        return {};
    }
}

bool isBit(RegisterTable table)
{
    return table == RegisterTable::Coil || table == RegisterTable::Discrete;
}

// What a write wants written; nothing if its lengths, or the two values a coil has, are not kept.
struct Wanted {
    RegisterTable table = RegisterTable::Holding;
    int count = 0;
    std::array<std::uint16_t, mostWrittenBits> words{};
};

std::optional<Wanted> wantedBy(std::span<const std::uint8_t> pdu)
{
    const int function = pdu[0];
    const bool bits = function == WriteCoil || function == WriteCoils;
    Wanted wanted{bits ? RegisterTable::Coil : RegisterTable::Holding};
    if (function == WriteCoil || function == WriteHolding) {
        if (pdu.size() != 5)
            return {};
        const int value = word(pdu, 3);
        if (bits && value != 0 && value != 0xff00)
            return {};
        wanted.count = 1;
        wanted.words[0] = static_cast<std::uint16_t>(bits ? value == 0xff00 : value);
        return wanted;
    }
    if (pdu.size() < 6 || pdu.size() != 6u + pdu[5])
        return {};
    wanted.count = word(pdu, 3);
    if (wanted.count < 1 || wanted.count > (bits ? mostWrittenBits : mostWrittenWords) ||
        pdu[5] != (bits ? (wanted.count + 7) / 8 : 2 * wanted.count))
        return {};
    for (size_t i = 0; i < static_cast<size_t>(wanted.count); ++i)
        wanted.words[i] =
            static_cast<std::uint16_t>(bits ? pdu[6 + i / 8] >> i % 8 & 1 : word(pdu, 6 + 2 * i));
    return wanted;
}

} // namespace

RegisterDevice::RegisterDevice(SimulatedPlate& plate, const PlateMap& map)
    : plate_(plate), map_(map), registers_(plate, map)
{
    for (const TimedFault& fault : plate.faults())
        if (fault.fault == Fault::LateAnswer)
            lateAnswers_.push_back(fault);
}

Bytes RegisterDevice::readReply(int unit, RegisterTable table, std::span<const std::uint8_t> pdu)
{
    const bool bits = isBit(table);
    if (pdu.size() != 5)
        return refusal(pdu, IllegalValue);
    const int address = word(pdu, 1), count = word(pdu, 3);
    if (count < 1 || count > (bits ? mostReadBits : mostReadWords))
        return refusal(pdu, IllegalValue);
    std::array<std::uint16_t, mostReadBits> words;
    if (const int code = registers_.read(unit, table, address, count, words.data()))
        return refusal(pdu, code);
    const size_t length = static_cast<size_t>(bits ? (count + 7) / 8 : 2 * count);
    Bytes reply(2 + length);
    reply[0] = pdu[0];
    reply[1] = static_cast<std::uint8_t>(length);
    for (size_t i = 0; i < static_cast<size_t>(count); ++i) {
        if (bits) {
            reply[2 + i / 8] |= static_cast<std::uint8_t>((words[i] & 1) << i % 8);
        } else {
            reply[2 + 2 * i] = static_cast<std::uint8_t>(words[i] >> 8);
            reply[3 + 2 * i] = static_cast<std::uint8_t>(words[i]);
        }
    }
    return reply;
}

Bytes RegisterDevice::writeReply(int unit, std::span<const std::uint8_t> pdu)
{
    const auto wanted = wantedBy(pdu);
    if (!wanted)
        return refusal(pdu, IllegalValue);
    if (const int code =
            registers_.write(unit, wanted->table, word(pdu, 1), wanted->count, wanted->words.data()))
        return refusal(pdu, code);
    return Bytes(pdu.begin(), pdu.begin() + 5);
}

Bytes RegisterDevice::reply(int unit, std::span<const std::uint8_t> pdu)
{
    if (!serves(unit))
        return refusal(pdu, NoSuchUnit);
    if (const auto table = tableReadBy(pdu[0]))
        return readReply(unit, *table, pdu);
    return isWrite(pdu[0]) ? writeReply(unit, pdu) : refusal(pdu, IllegalFunction);
}

std::optional<Answer> RegisterDevice::answer(int unit, std::span<const std::uint8_t> pdu)
{
    if (plate_.has(Fault::Silent))
        return {};
    Answer answer{unit, reply(unit, pdu), {}, 0};
    const bool refused = answer.pdu[0] & 0x80;
    if (!refused && registers_.feedsWatchdog(unit))
        plate_.read();
    spoil(answer);
    return answer;
}

void RegisterDevice::obeyBroadcast(std::span<const std::uint8_t> pdu)
{
    if (plate_.has(Fault::Silent) || !isWrite(pdu[0]))
        return;
    for (const int unit : registers_.units())
        writeReply(unit, pdu);
}

void RegisterDevice::spoil(Answer& answer)
{
    if (plate_.has(Fault::WrongUnit))
        answer.unit = answer.unit % 247 + 1;
    if (plate_.has(Fault::WrongEcho) && isWrite(answer.pdu[0]))
        answer.pdu.back() ^= 1;
    if (plate_.has(Fault::JunkBytes))
        answer.junk = {0x00, 0xff, 0x55};
    const auto due = std::find_if(lateAnswers_.begin(), lateAnswers_.end(), [&](const TimedFault& late) {
        return plate_.timeS() >= late.fromS - 1e-9;
    });
    if (due != lateAnswers_.end()) {
        answer.lateS = due->value;
        lateAnswers_.erase(due);
    }
}

} // namespace stripwright
