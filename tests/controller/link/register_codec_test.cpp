#include "link/register_codec.h"

#include <cmath>
#include <gtest/gtest.h>
#include <limits>

using namespace stripwright;

struct FloatVector {
    WordOrder order;
    std::uint16_t first, second;
};

// 123456.0f = 0x47F12000 (IEEE 754).
static const FloatVector floatVectors[] = {
    {WordOrder::ABCD, 0x47F1, 0x2000},
    {WordOrder::CDAB, 0x2000, 0x47F1},
    {WordOrder::BADC, 0xF147, 0x0020},
    {WordOrder::DCBA, 0x0020, 0xF147},
};

TEST(RegisterCodec, DecodesFloat32InEachOfTheFourOrders)
{
    for (const FloatVector& golden : floatVectors) {
        const std::uint16_t words[] = {golden.first, golden.second};
        EXPECT_EQ(decodeRaw(words, RegisterType::Float32, golden.order), 123456.0);
    }
    const std::uint16_t one[] = {0x3F80, 0x0000};
    EXPECT_EQ(decodeRaw(one, RegisterType::Float32, WordOrder::ABCD), 1.0);
}

TEST(RegisterCodec, EncodesFloat32InEachOfTheFourOrders)
{
    for (const FloatVector& golden : floatVectors) {
        std::uint16_t words[2] = {};
        ASSERT_TRUE(encodeRaw(123456.0, RegisterType::Float32, golden.order, words));
        EXPECT_EQ(words[0], golden.first);
        EXPECT_EQ(words[1], golden.second);
    }
}

// -123456789 = 0xF8A432EB in two's complement.
TEST(RegisterCodec, DecodesAndEncodesInt32InEachOfTheFourOrders)
{
    const FloatVector vectors[] = {
        {WordOrder::ABCD, 0xF8A4, 0x32EB},
        {WordOrder::CDAB, 0x32EB, 0xF8A4},
        {WordOrder::BADC, 0xA4F8, 0xEB32},
        {WordOrder::DCBA, 0xEB32, 0xA4F8},
    };
    for (const FloatVector& golden : vectors) {
        std::uint16_t words[2] = {};
        ASSERT_TRUE(encodeRaw(-123456789.0, RegisterType::Int32, golden.order, words));
        EXPECT_EQ(words[0], golden.first);
        EXPECT_EQ(words[1], golden.second);
        EXPECT_EQ(decodeRaw(words, RegisterType::Int32, golden.order), -123456789.0);
    }
}

TEST(RegisterCodec, ReadsTheSameRegisterSignedAndUnsigned)
{
    const std::uint16_t word = 65526;
    EXPECT_EQ(decodeRaw(&word, RegisterType::Int16, WordOrder::ABCD), -10.0);
    EXPECT_EQ(decodeRaw(&word, RegisterType::Uint16, WordOrder::ABCD), 65526.0);
}

TEST(RegisterCodec, SwapsTheBytesOfASingleRegisterOnlyInTheByteSwappedOrders)
{
    const std::uint16_t word = 0x0123;
    EXPECT_EQ(decodeRaw(&word, RegisterType::Uint16, WordOrder::ABCD), 0x0123);
    EXPECT_EQ(decodeRaw(&word, RegisterType::Uint16, WordOrder::CDAB), 0x0123);
    EXPECT_EQ(decodeRaw(&word, RegisterType::Uint16, WordOrder::BADC), 0x2301);
    EXPECT_EQ(decodeRaw(&word, RegisterType::Uint16, WordOrder::DCBA), 0x2301);
}

TEST(RegisterCodec, EveryRegisterValueComesBackThroughEveryOrder)
{
    for (WordOrder order : {WordOrder::ABCD, WordOrder::CDAB, WordOrder::BADC, WordOrder::DCBA})
        for (int value = 0; value <= 65535; ++value) {
            const auto word = static_cast<std::uint16_t>(value);
            for (RegisterType type : {RegisterType::Int16, RegisterType::Uint16}) {
                std::uint16_t back = 0;
                ASSERT_TRUE(encodeRaw(decodeRaw(&word, type, order), type, order, &back));
                ASSERT_EQ(back, word);
            }
        }
}

TEST(RegisterCodec, RefusesWhatTheTypeCannotHoldAndLeavesTheWordsAlone)
{
    struct {
        double raw;
        RegisterType type;
        bool fits;
    } const cases[] = {
        {32767.4, RegisterType::Int16, true},
        {32767.6, RegisterType::Int16, false},
        {-32768.4, RegisterType::Int16, true},
        {-32769, RegisterType::Int16, false},
        {65535, RegisterType::Uint16, true},
        {65536, RegisterType::Uint16, false},
        {-0.6, RegisterType::Uint16, false},
        {2147483647.0, RegisterType::Int32, true},
        {2147483648.0, RegisterType::Int32, false},
        {3.0e38, RegisterType::Float32, true},
        {3.5e38, RegisterType::Float32, false},
        {std::nan(""), RegisterType::Int16, false},
        {std::nan(""), RegisterType::Float32, false},
        {std::numeric_limits<double>::infinity(), RegisterType::Float32, false},
    };
    for (const auto& one : cases) {
        std::uint16_t words[2] = {0xBEEF, 0xBEEF};
        EXPECT_EQ(encodeRaw(one.raw, one.type, WordOrder::ABCD, words), one.fits) << one.raw;
        if (!one.fits) {
            EXPECT_EQ(words[0], 0xBEEF) << one.raw;
            EXPECT_EQ(words[1], 0xBEEF) << one.raw;
        }
    }
}

TEST(RegisterCodec, AppliesScaleThenOffset)
{
    const RegisterField field{.type = RegisterType::Int16, .scale = 0.1, .offset = -5};
    std::uint16_t word = 0;
    ASSERT_TRUE(encodeValue(20.0, field, &word)); // (20 + 5) / 0.1
    EXPECT_EQ(word, 250);
    EXPECT_DOUBLE_EQ(decodeValue(&word, field), 20.0);
}
