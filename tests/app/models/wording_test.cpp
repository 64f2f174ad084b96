#include "models/quantity.h"
#include "models/wording.h"

#include <gtest/gtest.h>
#include <limits>

namespace stripwright {

static const QString minus(QChar(0x2212));

TEST(Wording, RoundTensKeepTheirDigits)
{
    EXPECT_EQ(figure(80, 0), "80");
    EXPECT_EQ(figure(300, 0), "300");
    EXPECT_EQ(figure(-20, 0), minus + "20");
}

TEST(Wording, APlaceKeepsTheTenthThatItHas)
{
    EXPECT_EQ(placeText(-32.5), QString::fromUtf8("−32.5 mm"));
    EXPECT_EQ(placeText(150), "150 mm");
    EXPECT_EQ(placeText(149.98), "150 mm");
}

TEST(Wording, NoFigureIsMinusZero)
{
    EXPECT_EQ(figure(-0.04, 1), "0.0");
    EXPECT_EQ(signedFigure(-0.04, 1), "+0.0");
}

TEST(Wording, WhatIsNoNumberIsUnknown)
{
    EXPECT_EQ(figure(std::numeric_limits<double>::quiet_NaN(), 1), "unknown");
    EXPECT_EQ(clockText(std::numeric_limits<double>::infinity()), "unknown");
}

TEST(Wording, ClockRoundsToWholeSecondsBeforeItSplitsMinutes)
{
    EXPECT_EQ(clockText(59.6), "1:00");
    EXPECT_EQ(clockText(365), "6:05");
    EXPECT_EQ(clockText(-20), minus + "0:20");
}

TEST(Wording, FromOneHourOnTimesAreInHoursAndMinutes)
{
    EXPECT_EQ(clockText(3599), "59:59");
    EXPECT_EQ(clockText(3599.7), "1 h 00 min");
    EXPECT_EQ(clockText(32641), "9 h 04 min");
    EXPECT_EQ(clockText(-7200), minus + "2 h 00 min");
    const Limit dry{.metric = Metric::TimeAbove, .min = 32400};
    EXPECT_EQ(allowedText(dry), "at least 9 h 00 min");
    EXPECT_EQ(spanText({.limit = dry, .low = 32504, .nominal = 32531, .high = 32700}),
              QString::fromUtf8("9 h 02 min · 9 h 02 min · 9 h 05 min"));
    EXPECT_EQ(valueText(dry, 3000), "3000 s");
    EXPECT_EQ(marginText(dry, -7260), minus + "2 h 01 min");
    EXPECT_EQ(marginText(dry, 104), "+104 s");
}

TEST(Wording, WhatIsMissedByLittleDoesNotReadAsKept)
{
    const Limit time{.metric = Metric::TimeAbove, .max = 90};
    EXPECT_EQ(marginText(time, -0.3), minus + "0.3 s");
    EXPECT_EQ(marginText(time, -0.04), minus + "0.04 s");
    EXPECT_EQ(marginText(time, -1e-5), "just missed");
    EXPECT_EQ(marginText(time, -4.2), minus + "4 s");
    EXPECT_EQ(marginText(time, 0.3), "+0 s");
}

TEST(Wording, MarginOfATemperatureIsADifference)
{
    Limit peak{.metric = Metric::Peak, .max = 180};
    EXPECT_EQ(marginText(peak, 3.2), "+3.2 K");
    EXPECT_EQ(valueText(peak, 176.8), "176.8 °C");
    EXPECT_EQ(allowedText(peak), "up to 180 °C");
}

TEST(Wording, AHabitThatIsMissedIsNotBroken)
{
    MarginRow row;
    row.margin = -1;
    EXPECT_EQ(stateOf(row), RowState::Broken);
    row.limit.habit = true;
    EXPECT_EQ(stateOf(row), RowState::HabitMissed);
}

TEST(Quantity, ReadsBothDecimalSignsAndUnits)
{
    QString why;
    EXPECT_DOUBLE_EQ(readQuantity("217.5", "°C", 0, 400, why).value(), 217.5);
    EXPECT_DOUBLE_EQ(readQuantity("217,5 °C", "°C", 0, 400, why).value(), 217.5);
    EXPECT_DOUBLE_EQ(readQuantity("150 C", "°C", 0, 400, why).value(), 150);
    EXPECT_DOUBLE_EQ(readQuantity("212 F", "°C", 0, 400, why).value(), 100);
    EXPECT_DOUBLE_EQ(readQuantity("12.5 mm", "mm", -300, 400, why).value(), 12.5);
    EXPECT_TRUE(why.isEmpty());
}

TEST(Quantity, OutsideItsRangeSaysFoundAndExpected)
{
    QString why;
    EXPECT_FALSE(readQuantity("451", "°C", 0, 400, why));
    EXPECT_TRUE(why.contains("451") && why.contains("0 to 400 °C")) << why.toStdString();
    EXPECT_FALSE(readQuantity("warm", "°C", 0, 400, why));
    EXPECT_TRUE(why.contains("warm")) << why.toStdString();
    EXPECT_FALSE(readQuantity("", "°C", 0, 400, why));
}

} // namespace stripwright
