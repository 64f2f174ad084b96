#include "link/register_codec.h"

#include <bit>
#include <cmath>
#include <limits>

namespace stripwright {

// libmodbus's own float functions do not round-trip in 3.1.6 and differ between releases (its issues #807,
// #838), so the four orders are spelt out here.

static std::uint16_t swapped(std::uint16_t word)
{
    return static_cast<std::uint16_t>(word << 8 | word >> 8);
}

static bool swapsBytes(WordOrder order)
{
    return order == WordOrder::BADC || order == WordOrder::DCBA;
}

static bool lowWordFirst(WordOrder order)
{
    return order == WordOrder::CDAB || order == WordOrder::DCBA;
}

static bool isTwoWords(RegisterType type)
{
    return type == RegisterType::Int32 || type == RegisterType::Float32;
}

int wordsOf(const RegisterField& field)
{
    const bool bit = field.table == RegisterTable::Coil || field.table == RegisterTable::Discrete;
    return !bit && isTwoWords(field.type) ? 2 : 1;
}

double decodeRaw(const std::uint16_t* words, RegisterType type, WordOrder order)
{
    const auto word = [&](int index) { return swapsBytes(order) ? swapped(words[index]) : words[index]; };
    if (!isTwoWords(type))
        return type == RegisterType::Int16 ? static_cast<std::int16_t>(word(0))
                                           : static_cast<double>(word(0));
    const std::uint32_t high = word(lowWordFirst(order) ? 1 : 0), low = word(lowWordFirst(order) ? 0 : 1);
    const std::uint32_t bits = high << 16 | low;
    return type == RegisterType::Float32 ? static_cast<double>(std::bit_cast<float>(bits))
                                         : static_cast<double>(static_cast<std::int32_t>(bits));
}

bool typeHolds(double raw, RegisterType type)
{
    if (!std::isfinite(raw))
        return false;
    const auto between = [&]<class Integer>(Integer) {
        return std::round(raw) >= std::numeric_limits<Integer>::min() &&
               std::round(raw) <= std::numeric_limits<Integer>::max();
    };
    switch (type) {
    case RegisterType::Int16:
        return between(std::int16_t{});
    case RegisterType::Uint16:
        return between(std::uint16_t{});
    case RegisterType::Int32:
        return between(std::int32_t{});
    case RegisterType::Float32:
        return std::abs(raw) <= std::numeric_limits<float>::max();
    }
    return false;
}

bool encodeRaw(double raw, RegisterType type, WordOrder order, std::uint16_t* words)
{
    if (!typeHolds(raw, type))
        return false;
    const std::uint32_t bits = type == RegisterType::Float32
                                   ? std::bit_cast<std::uint32_t>(static_cast<float>(raw))
                                   : static_cast<std::uint32_t>(static_cast<std::int64_t>(std::round(raw)));
    const auto put = [&](int index, std::uint32_t value) {
        const auto word = static_cast<std::uint16_t>(value);
        words[index] = swapsBytes(order) ? swapped(word) : word;
    };
    if (!isTwoWords(type)) {
        put(0, bits);
        return true;
    }
    put(lowWordFirst(order) ? 1 : 0, bits >> 16);
    put(lowWordFirst(order) ? 0 : 1, bits);
    return true;
}

double decodeValue(const std::uint16_t* words, const RegisterField& field)
{
    return decodeRaw(words, field.type, field.order) * field.scale + field.offset;
}

bool encodeValue(double value, const RegisterField& field, std::uint16_t* words)
{
    return encodeRaw((value - field.offset) / field.scale, field.type, field.order, words);
}

} // namespace stripwright
