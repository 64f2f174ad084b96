#include "commissioning/sensor_candidates.h"

#include "link/register_codec.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

static constexpr double hottestC = 250, gridK = 12.5;
static constexpr double alikeScales = 3;

static bool isTwoWords(RegisterType type)
{
    return type == RegisterType::Int32 || type == RegisterType::Float32;
}

// On one register the order of words says nothing, only whether its bytes are swapped.
static std::vector<WordOrder> ordersOf(RegisterType type, const std::optional<WordOrder>& given)
{
    using enum WordOrder;
    if (given)
        return {*given};
    return isTwoWords(type) ? std::vector{ABCD, CDAB, BADC, DCBA} : std::vector{ABCD, BADC};
}

static std::vector<double> scalesOf(RegisterType type, const std::optional<double>& given)
{
    if (given)
        return {*given};
    return type == RegisterType::Float32 ? std::vector{1.0, 0.1}
                                         : std::vector{1.0, 0.1, 0.01, 1 / 16.0, 1 / 256.0};
}

static double topOf(const DraftLink& draft)
{
    return std::min(hottestC, draft.link.sensorMaxC);
}

static bool holds(const RegisterField& field, double valueC)
{
    std::uint16_t words[2];
    return encodeValue(valueC, field, words);
}

// What the registers hold when `a` reads a temperature is read as the same by `b`.
static bool follows(const RegisterField& b, const RegisterField& a, const SensorWords& around, double topC)
{
    const double stepK = std::max(std::abs(a.scale), std::abs(b.scale));
    for (double valueC = 0; valueC <= topC; valueC += gridK) {
        SensorWords words = around;
        if (!encodeValue(valueC, a, words.data()) ||
            !(std::abs(decodeValue(words.data(), b) - valueC) <= 0.51 * stepK))
            return false;
    }
    return true;
}

std::vector<RegisterField> sensorCandidates(const DraftLink& draft, const SensorWords& words,
                                            const SensorWidths& widths)
{
    using enum RegisterType;
    const double topC = topOf(draft);
    std::vector<RegisterField> all;
    for (RegisterType type : {Int16, Uint16, Int32, Float32}) {
        if ((draft.type && *draft.type != type) || !(isTwoWords(type) ? widths.two : widths.one))
            continue;
        for (WordOrder order : ordersOf(type, draft.order))
            for (double scale : scalesOf(type, draft.scale)) {
                RegisterField field = draft.link.sensor;
                field.type = type;
                field.order = order;
                field.scale = scale;
                if (draft.meaningGiven() || holds(field, topC))
                    all.push_back(field);
            }
    }
    const auto namesNoSensor = [&](const RegisterField& field) {
        return std::all_of(draft.link.noSensorRaw.begin(), draft.link.noSensorRaw.end(),
                           [&](long raw) { return typeHolds(static_cast<double>(raw), field.type); });
    };
    std::stable_sort(all.begin(), all.end(), [&](const RegisterField& a, const RegisterField& b) {
        return namesNoSensor(a) > namesNoSensor(b);
    });
    std::vector<RegisterField> different;
    for (const RegisterField& field : all) {
        const auto alike = [&](const RegisterField& other) {
            return follows(field, other, words, topC) && follows(other, field, words, topC);
        };
        if (std::none_of(different.begin(), different.end(), alike))
            different.push_back(field);
    }
    return different;
}

std::string inWords(const RegisterField& meaning)
{
    static const char* const types[] = {"int16", "uint16", "int32", "float32"};
    static const char* const orders[] = {"ABCD", "CDAB", "BADC", "DCBA"};
    const bool plain = !isTwoWords(meaning.type) && meaning.order == WordOrder::ABCD;
    const double parts = 1 / meaning.scale;
    const bool binary = parts == 16 || parts == 256;
    char text[64];
    std::snprintf(text, sizeof text, binary ? "%s%s%s x 1/%g" : "%s%s%s x %g",
                  types[static_cast<size_t>(meaning.type)], plain ? "" : " ",
                  plain ? "" : orders[static_cast<size_t>(meaning.order)], binary ? parts : meaning.scale);
    return text;
}

bool moveAlike(const RegisterField& a, const RegisterField& b)
{
    const double ratio = a.scale / b.scale;
    return a.type == b.type && a.order == b.order && ratio < alikeScales && ratio > 1 / alikeScales;
}

} // namespace stripwright
