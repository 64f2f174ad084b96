#include "models/sheet_notes.h"

#include "demo_sheet.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

QString textOf(const std::vector<SheetNote>& notes, const QString& topic)
{
    for (const SheetNote& note : notes)
        if (note.topic == topic)
            return note.text;
    return {};
}

TEST(SheetNotes, SayHowManyPassesTheLedAllows)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.strip.led.passesAllowed = 3;
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "reflow passes"), "up to 3, the factory's included");
}

TEST(SheetNotes, EstimateTheRunningJointOfASheetThatSaysHowTheStripIsSeated)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    // 12 x 0.5 W, 65 % of it heat, over 420 x 12 mm at 300 W/m²K, and 0.325 W through 17.7 K/W under a pad.
    sheet.service = Service{.seat = Seat::OnMetal, .surroundingsC = 50};
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "in service"),
              QStringLiteral("joints run at about 58 °C (est.), LED junctions at about 64 °C"));
    sheet.service.reset();
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "in service"), QString());
}

TEST(SheetNotes, HoldNoJointToThePasteThatItIsNotMadeOf)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    for (const SwapWay way : {SwapWay::SolderLeft, SwapWay::TinnedLed, SwapWay::WarmedLed}) {
        sheet.way = way;
        EXPECT_EQ(textOf(notesOf(sheet, nullptr), "peak"), QString());
        EXPECT_EQ(textOf(notesOf(sheet, nullptr), "ramp"), QString());
        EXPECT_EQ(textOf(notesOf(sheet, nullptr), "new alloy").isEmpty(), way != SwapWay::TinnedLed);
    }
    sheet.way = SwapWay::ChargeLaidCold;
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "peak"), QString());
    EXPECT_FALSE(textOf(notesOf(sheet, nullptr), "ramp until the charge melts").isEmpty());
    sheet.way = SwapWay::TwoHeats;
    EXPECT_FALSE(textOf(notesOf(sheet, nullptr), "peak").isEmpty());
    sheet.heat = HeatKind::Fit;
    EXPECT_FALSE(textOf(notesOf(sheet, nullptr), "peak").isEmpty());
    sheet.heat = HeatKind::Remove;
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "peak"), QString());
}

TEST(SheetNotes, MarkTheFiguresOfALensAndItsGlueThatAreHabit)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "lens"), "foot up to 85 °C, optic up to 80 °C");
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "glue"),
              "holds to 80 °C, lets go between 100 and 130 °C (trade habit)");
    sheet.strip.lens->habit.values = {"foot_max_C"};
    EXPECT_EQ(textOf(notesOf(sheet, nullptr), "lens"), "foot up to 85 °C (trade habit), optic up to 80 °C");
}

} // namespace
} // namespace stripwright
