#include "widgets/figure_field.h"

#include <QLocale>
#include <QSignalSpy>
#include <QTest>
#include <gtest/gtest.h>

namespace stripwright {

struct FigureFields : testing::Test {
    void typed(const QString& text)
    {
        field.clear();
        QTest::keyClicks(&field, text);
        QTest::keyClick(&field, Qt::Key_Return);
    }
    FigureField field{{.name = "Power of the heater", .unit = "W", .min = 5, .max = 20000}};
};

TEST_F(FigureFields, KeepsWhatWasTypedAndPutsTheUnitBehindIt)
{
    typed("300");
    EXPECT_EQ(field.text(), "300 W");
    EXPECT_EQ(field.value(), 300);
    typed("300.50 w");
    EXPECT_EQ(field.text(), "300.50 w");
    EXPECT_EQ(field.value(), 300.5);
}

TEST_F(FigureFields, WhatIsNoSuchFigureIsNoneAndSaysWhy)
{
    typed("3");
    EXPECT_FALSE(field.value());
    EXPECT_EQ(field.problem(), "Power of the heater: 3 is outside 5 to 20000 W.");
    EXPECT_EQ(field.text(), "3"); // left for whoever mends it
    typed("much");
    EXPECT_TRUE(field.problem().contains("“much” is no number")) << field.problem().toStdString();
    typed("");
    EXPECT_EQ(field.problem(), "Power of the heater is missing.");
    const FigureField optional{{.name = "a", .max = 1, .optional = true}};
    EXPECT_EQ(optional.problem(), "");
    EXPECT_FALSE(optional.value());
}

TEST_F(FigureFields, ShowsAValueExactlyAndSaysNothing)
{
    QSignalSpy said(&field, &FigureField::changed);
    field.show(300.00390625);
    EXPECT_EQ(field.value(), 300.00390625);
    field.show({});
    EXPECT_EQ(field.text(), "");
    EXPECT_EQ(said.count(), 0);
}

} // namespace stripwright
