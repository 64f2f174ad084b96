#include "tuning/typed_power.h"

#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::HasSubstr;

namespace {

// 100 x 100 x 8 mm of aluminium: 80 cm3 of 2.70 g/cm3 and 0.90 J/gK.
constexpr double solidJPerK = 80 * 2.70 * 0.90;
constexpr PlateSize plateSize{100, 100, 8};

// What a tuning makes of a plate that climbs as this one with 300 W, whatever power was typed.
double heldWith(double typedW)
{
    return 1.05 * solidJPerK * typedW / 300;
}

TEST(TypedPower, ThatFitsThePlatesSizeIsNotAskedAbout)
{
    EXPECT_FALSE(powerQuestion(300, heldWith(300), plateSize));
    EXPECT_FALSE(powerQuestion(300, 1.65 * heldWith(300), plateSize)) << "of steel";
}

TEST(TypedPower, TenTimesTheHeatersIsAskedAboutWithThePowerThatTheClimbTells)
{
    const auto question = powerQuestion(3000, heldWith(3000), plateSize);
    ASSERT_TRUE(question);
    EXPECT_THAT(*question, HasSubstr("100 x 100 x 8 mm holds 194 J/K"));
    EXPECT_THAT(*question, HasSubstr("the climb then says 286 W")); // 300 / 1.05
    EXPECT_THAT(*question, HasSubstr("Is 3000 W what its heater takes"));
    EXPECT_TRUE(powerQuestion(30, heldWith(30), plateSize));
}

TEST(TypedPower, WithoutASizeIsAskedAboutWhereNoBenchPlateIsSoHeavyOrSoLight)
{
    EXPECT_FALSE(powerQuestion(900, 700));
    EXPECT_FALSE(powerQuestion(150, 52));
    const auto heavy = powerQuestion(3000, 2046);
    ASSERT_TRUE(heavy);
    EXPECT_THAT(*heavy, HasSubstr("1.47 K/s cold at full heat"));
    EXPECT_THAT(*heavy, HasSubstr("2046 J/K: 2.3 kg or 0.84 dm3 of aluminium"));
    EXPECT_TRUE(powerQuestion(30, 20));
}

TEST(TypedPower, WhatIsNoNumberIsAskedAbout)
{
    EXPECT_TRUE(powerQuestion(300, std::nan("")));
    EXPECT_TRUE(powerQuestion(std::nan(""), 200));
    EXPECT_TRUE(powerQuestion(300, 0));
    EXPECT_TRUE(powerQuestion(300, 200, PlateSize{}));
    EXPECT_TRUE(powerQuestion(300, 200, PlateSize{100, std::nan(""), 8}));
}

} // namespace
