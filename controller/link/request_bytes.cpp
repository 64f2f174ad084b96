#include "link/request_bytes.h"

#include "link/modbus_words.h"

#include <algorithm>
#include <cerrno>

namespace stripwright {

static void put(RequestBytes& request, int word)
{
    request.bytes[request.length++] = static_cast<std::uint8_t>(word >> 8);
    request.bytes[request.length++] = static_cast<std::uint8_t>(word);
}

static RequestBytes begun(const ReadBlock& block, int function)
{
    RequestBytes request;
    request.bytes[0] = static_cast<std::uint8_t>(block.unit);
    request.bytes[1] = static_cast<std::uint8_t>(function);
    request.length = 2;
    put(request, block.start);
    return request;
}

RequestBytes readRequest(const ReadBlock& block)
{
    const auto function = [&] {
        switch (block.table) {
        case RegisterTable::Coil:
            return MODBUS_FC_READ_COILS;
        case RegisterTable::Discrete:
            return MODBUS_FC_READ_DISCRETE_INPUTS;
        case RegisterTable::Input:
            return MODBUS_FC_READ_INPUT_REGISTERS;
        case RegisterTable::Holding:
            break;
        }
        return MODBUS_FC_READ_HOLDING_REGISTERS;
    };
    RequestBytes request = begun(block, function());
    put(request, block.count);
    return request;
}

RequestBytes writeRequest(const ReadBlock& place, const std::uint16_t* words)
{
    const bool coil = place.table == RegisterTable::Coil, one = place.count == 1;
    RequestBytes request = begun(place, coil  ? MODBUS_FC_WRITE_SINGLE_COIL
                                        : one ? MODBUS_FC_WRITE_SINGLE_REGISTER
                                              : MODBUS_FC_WRITE_MULTIPLE_REGISTERS);
    put(request, coil ? (words[0] ? 0xFF00 : 0) : one ? words[0] : place.count);
    if (!one) {
        request.bytes[request.length++] = static_cast<std::uint8_t>(2 * place.count);
        for (int i = 0; i < place.count; ++i)
            put(request, words[i]);
    }
    return request;
}

static int failed(int code)
{
    errno = code;
    return -1;
}

// 0: an answer to this request, which may still hold anything.
static int refusalIn(const RequestBytes& request, const std::uint8_t* answer, size_t length)
{
    if (length < 3)
        return EMBBADDATA;
    if (answer[0] != request.bytes[0])
        return EMBBADSLAVE;
    if (answer[1] == (request.bytes[1] | 0x80))
        return answer[2] > 0 && answer[2] < MODBUS_EXCEPTION_MAX ? MODBUS_ENOBASE + answer[2] : EMBBADEXC;
    return 0;
}

int takeAnswer(const RequestBytes& request, const ReadBlock& block, const std::uint8_t* answer, size_t length,
               std::uint16_t* words)
{
    if (const int refusal = refusalIn(request, answer, length))
        return failed(refusal);
    const bool bits = block.table == RegisterTable::Coil || block.table == RegisterTable::Discrete;
    const auto count = static_cast<size_t>(block.count), bytes = bits ? (count + 7) / 8 : 2 * count;
    if (answer[1] != request.bytes[1] || answer[2] != bytes || length != 3 + bytes)
        return failed(EMBBADDATA);
    const std::uint8_t* data = answer + 3;
    for (size_t i = 0; i < count; ++i)
        words[i] = static_cast<std::uint16_t>(bits ? data[i / 8] >> (i % 8) & 1
                                                   : data[2 * i] << 8 | data[2 * i + 1]);
    return block.count;
}

int compareEcho(const RequestBytes& request, const ReadBlock& place, const std::uint8_t* answer,
                size_t length, std::string& echo)
{
    constexpr size_t echoed = 6;
    if (const int refusal = refusalIn(request, answer, length))
        return failed(refusal);
    if (length != echoed || !std::equal(answer, answer + echoed, request.bytes)) {
        echo = "sent " + hex(request.bytes, echoed) + ", but the answer is " +
               hex(answer, std::min(length, echoed));
        return failed(EMBBADDATA);
    }
    return place.count;
}

} // namespace stripwright
