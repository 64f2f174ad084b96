#include "widgets/margin_ladder.h"

#include "models/margin_table.h"
#include "models/wording.h"

#include <QApplication>
#include <QClipboard>
#include <QTest>
#include <gtest/gtest.h>

namespace stripwright {

static MarginRow row(const std::string& id, double value, double max, bool habit)
{
    MarginRow made;
    made.limit = {.id = id,
                  .station = {StationKind::Lens, 5},
                  .what = id + " in words",
                  .metric = Metric::Peak,
                  .max = max,
                  .habit = habit};
    made.low = value - 2;
    made.nominal = value - 1;
    made.high = value;
    made.margin = max - value;
    made.normalisedMargin = made.margin / 10;
    return made;
}

TEST(MarginLadder, CopiesItsRungsAsText)
{
    MarginTable table;
    MarginLadder ladder(&table);
    table.setRows({row("a", 90, 85, false), row("b", 70, 85, true)});
    ladder.resize(900, 200);
    ladder.show();
    ladder.clearSelection();
    QTest::keyClick(&ladder, Qt::Key_C, Qt::ControlModifier);
    const QStringList lines = QApplication::clipboard()->text().split('\n');
    ASSERT_EQ(lines.size(), 2);
    EXPECT_TRUE(lines[0].contains("a in words") && lines[0].contains("88.0 · 89.0 · 90.0 °C"))
        << lines[0].toStdString();
    EXPECT_TRUE(lines[1].contains("+15.0 K")) << lines[1].toStdString();
}

TEST(MarginLadder, ABrokenRungIsFilledAndAMissedHabitIsNot)
{
    MarginTable table;
    MarginLadder ladder(&table);
    table.setRows({row("broken", 90, 85, false), row("missed", 90, 85, true), row("kept", 70, 85, false)});
    ladder.resize(900, 200);
    ladder.show();
    const auto colourAt = [&](int rung) {
        const QRect cell = ladder.visualRect(table.index(rung, MarginTable::LimitColumn));
        return ladder.viewport()
            ->grab(QRect(cell.topLeft() + QPoint(2, 3), QSize(1, 1)))
            .toImage()
            .pixelColor(0, 0);
    };
    EXPECT_NE(colourAt(0), colourAt(2));
    EXPECT_EQ(colourAt(1), colourAt(2));
    EXPECT_EQ(table.index(0, MarginTable::BarColumn).data(Qt::AccessibleTextRole).toString(), "broken");
    EXPECT_EQ(table.index(1, MarginTable::BarColumn).data(Qt::AccessibleTextRole).toString(), "habit missed");
}

TEST(MarginLadder, ALongNameIsWholeWhereThereIsRoomAndStandsInTheToolTip)
{
    MarginTable table;
    MarginLadder ladder(&table);
    ladder.show();
    ladder.resize(1100, 200);
    table.setRows({row("a", 90, 85, false)});
    const int ofShortOnes = ladder.columnWidth(MarginTable::LimitColumn);
    MarginRow longOne =
        row("LED body, whole while it is warmed on the strip, at site 12, predicted", 90, 85, false);
    table.setRows({longOne, row("b", 70, 85, true)});
    QFont bold = ladder.font();
    bold.setBold(true);
    const QString name = QString::fromStdString(longOne.limit.what);
    const int needed = QFontMetrics(bold).horizontalAdvance("▲ broken  ") +
                       QFontMetrics(ladder.font()).horizontalAdvance(name) + 16;
    EXPECT_GE(ladder.columnWidth(MarginTable::LimitColumn), needed);
    EXPECT_GT(ladder.columnWidth(MarginTable::LimitColumn), ofShortOnes) << "it takes it from the bar";
    EXPECT_TRUE(table.index(0, MarginTable::LimitColumn).data(Qt::ToolTipRole).toString().contains(name));
}

TEST(MarginLadder, ANameThatHasNoRoomIsWrapped)
{
    MarginTable table;
    MarginLadder ladder(&table);
    ladder.show();
    ladder.resize(420, 300);
    const MarginRow longOne =
        row("LED body, whole while it is warmed on the strip, at site 12, predicted", 80, 85, true);
    table.setRows({longOne, row("b", 70, 85, false)});
    const QRect room(0, 0, ladder.columnWidth(MarginTable::LimitColumn) - 16, 1000);
    const int needed = QFontMetrics(ladder.font())
                           .boundingRect(room, Qt::TextWordWrap, QString::fromStdString(longOne.limit.what))
                           .height();
    EXPECT_GE(ladder.rowHeight(0), needed);
    EXPECT_LT(ladder.rowHeight(1), needed);
    ladder.resize(1400, 300);
    EXPECT_EQ(ladder.rowHeight(0), ladder.rowHeight(1));
}

TEST(MarginLadder, SaysWhatItsOrderIs)
{
    MarginTable table;
    const auto head = [&](int role) {
        return table.headerData(MarginTable::LimitColumn, Qt::Horizontal, role).toString();
    };
    EXPECT_TRUE(head(Qt::DisplayRole).contains("tightest first"));
    EXPECT_TRUE(
        head(Qt::ToolTipRole).contains("broken first, then by the share of its tolerance that is left"));
}

TEST(MarginLadder, NoColumnRunsOutOfTheView)
{
    MarginTable table;
    MarginLadder ladder(&table);
    table.setPlanned({row("a", 80, 85, false)});
    table.setRows({row("a", 82, 85, false)});
    ladder.show();
    for (int width : {420, 600, 900, 1400}) {
        ladder.resize(width, 200);
        int columns = 0;
        for (int column = 0; column < MarginTable::ColumnCount; ++column)
            columns += ladder.isColumnHidden(column) ? 0 : ladder.columnWidth(column);
        EXPECT_LE(columns, ladder.viewport()->width()) << width;
        EXPECT_GE(ladder.columnWidth(MarginTable::BarColumn), 70);
    }
}

} // namespace stripwright
