#include "demo_sheet.h"
#include "models/shelf_table.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

QString cell(const ShelfTable& table, const QString& id, int column)
{
    for (int row = 0; row < table.rowCount(); ++row)
        if (table.index(row, 0).data(ShelfTable::IdRole).toString() == id)
            return table.index(row, column).data().toString();
    return "no such entry";
}

TEST(ShelfTable, SaysHowMuchOfAnEntryIsHabit)
{
    Shelf shelf = test::shippedShelf();
    const ShelfTable table(shelf);
    EXPECT_EQ(cell(table, "sac305", ShelfTable::HabitColumn), "sourced");
    EXPECT_EQ(cell(table, "clamped-flat", ShelfTable::HabitColumn), "trade habit");
    EXPECT_EQ(cell(table, "lens-ps-15", ShelfTable::HabitColumn), "partly trade habit");
    EXPECT_EQ(cell(table, "sac305-no-clean", ShelfTable::HabitColumn), "partly trade habit"); // Of a window.
    shelf.strips[0].habit = {};
    shelf.strips[0].dielectric.habit = {};
    EXPECT_EQ(cell(ShelfTable(shelf), "growbar-300-10", ShelfTable::HabitColumn), "sourced");
    shelf.strips[0].dielectric.habit.values = {"max_C"};
    EXPECT_EQ(cell(ShelfTable(shelf), "growbar-300-10", ShelfTable::HabitColumn), "partly trade habit");
}

TEST(ShelfTable, ShowsWhatAReplacementIsChosenBy)
{
    const ShelfTable table(test::shippedShelf());
    EXPECT_EQ(cell(table, "7030", ShelfTable::FiguresColumn),
              "7.0 × 3.0 × 0.8 mm, 1.0 W at 6 V, body up to 260 °C, reflow passes: 2");
    EXPECT_EQ(cell(table, "hot-melt-eva", ShelfTable::FiguresColumn),
              "holds to 60 °C, lets go between 70 °C and 110 °C");
    EXPECT_EQ(cell(table, "unmarked", ShelfTable::FiguresColumn), "165 W/mK, 138 to 232");
    EXPECT_EQ(cell(table, "lens-ps-15", ShelfTable::FiguresColumn),
              "PS, Ø 15 × 6 mm, foot up to 75 °C, optic up to 70 °C");
}

} // namespace
} // namespace stripwright
