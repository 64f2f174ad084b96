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

void RegisterDevice::noteDriven(int unit, std::span<const std::uint8_t> pdu)
{
    if (!isWrite(pdu[0]))
        return;
    if (const auto wanted = wantedBy(pdu))
        if (const auto driven =
                registers_.drivenBy(unit, wanted->table, word(pdu, 1), wanted->count, wanted->words.data()))
            lastDriven_ = driven;
}

std::optional<Answer> RegisterDevice::answer(int unit, std::span<const std::uint8_t> pdu)
{
    noteDriven(unit, pdu);
    if (!plate_.reachable())
        return {};
    Answer answer{unit};
    if (const auto code = plate_.valueOf(Fault::Exceptions)) {
        answer.pdu = refusal(pdu, static_cast<int>(*code));
    } else {
        answer.pdu = reply(unit, pdu);
        const bool refused = answer.pdu[0] & 0x80;
        if (!refused && registers_.feedsWatchdog(unit))
            plate_.read();
    }
    spoil(answer);
    return answer;
}

void RegisterDevice::obeyBroadcast(std::span<const std::uint8_t> pdu)
{
    if (!plate_.reachable() || plate_.has(Fault::Exceptions) || !isWrite(pdu[0]))
        return;
    for (const int unit : registers_.units()) {
        noteDriven(unit, pdu);
        writeReply(unit, pdu);
    }
}

void RegisterDevice::spoil(Answer& answer)
{
    if (plate_.has(Fault::WrongUnit))
        answer.unit = answer.unit % 247 + 1;
    if (plate_.has(Fault::WrongEcho) && isWrite(answer.pdu[0]))
        answer.pdu.back() ^= 1;
    if (plate_.has(Fault::JunkBytes))
        answer.junk = {0x00, 0xff, 0x55};
    if (plate_.has(Fault::Trickle))
        answer.byteEveryS = 0.1;
    if (const auto share = plate_.valueOf(Fault::BitErrors))
        answer.damaged = std::bernoulli_distribution(*share)(random_);
    size_t due = 0;
    for (const TimedFault& fault : plate_.faults())
        if (fault.fault == Fault::LateAnswer && plate_.timeS() >= fault.fromS - 1e-9 &&
            ++due > answersLate_) {
            ++answersLate_;
            answer.lateS = fault.value;
            return;
        }
}

void RegisterDevice::damage(Bytes& frame)
{
    std::uniform_int_distribution<size_t> bit(0, frame.size() * 8 - 1);
    // Other ones each time, so that two do not undo each other.
    const size_t first = bit(random_);
    for (int flips = std::uniform_int_distribution(1, 3)(random_), i = 0; i < flips; ++i) {
        const size_t at = (first + static_cast<size_t>(i) * 7) % (frame.size() * 8);
        frame[at / 8] ^= static_cast<std::uint8_t>(1u << at % 8);
    }
}

} // namespace stripwright
