#include "widgets/strip_drawing.h"

#include "demo_sheet.h"
#include "widgets/choice_field.h"

#include <QApplication>
#include <QLineEdit>
#include <QSignalSpy>
#include <QTest>
#include <QWheelEvent>
#include <gtest/gtest.h>

namespace stripwright {

struct Strip : testing::Test {
    Strip()
    {
        strip.resize(1000, strip.sizeHint().height());
        strip.setSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
        strip.show();
    }
    StripDrawing strip;
};

TEST_F(Strip, ArrowsAndSpaceMarkASite)
{
    QSignalSpy replace(&strip, &StripDrawing::replaceToggled), lens(&strip, &StripDrawing::lensToggled);
    QTest::keyClick(&strip, Qt::Key_Home);
    QTest::keyClick(&strip, Qt::Key_Right);
    QTest::keyClick(&strip, Qt::Key_Space);
    QTest::keyClick(&strip, Qt::Key_L);
    ASSERT_EQ(replace.count(), 1);
    EXPECT_EQ(replace[0][0].toInt(), 2);
    ASSERT_EQ(lens.count(), 1);
    EXPECT_EQ(lens[0][0].toInt(), 2);
    QTest::keyClick(&strip, Qt::Key_End);
    QTest::keyClick(&strip, Qt::Key_Right); // there is none beyond the last
    EXPECT_EQ(strip.currentSite(), 12);
}

TEST_F(Strip, AClickOnAnLedMarksIt)
{
    QSignalSpy replace(&strip, &StripDrawing::replaceToggled);
    QTest::mouseClick(&strip, Qt::LeftButton, {}, strip.siteRect(9).center().toPoint());
    ASSERT_EQ(replace.count(), 1);
    EXPECT_EQ(replace[0][0].toInt(), 9);
}

TEST_F(Strip, AnLedIsNeverSmallerThanAFingertipOfPixels)
{
    strip.resize(420, strip.height());
    EXPECT_GE(strip.siteRect(1).width(), 10);
}

TEST_F(Strip, ThePlateIsMovedByArrowsOnceChosen)
{
    QSignalSpy moved(&strip, &StripDrawing::plateMoved), replace(&strip, &StripDrawing::replaceToggled);
    QTest::keyClick(&strip, Qt::Key_Down);
    QTest::keyClick(&strip, Qt::Key_Right);
    QTest::keyClick(&strip, Qt::Key_Left, Qt::ShiftModifier);
    QTest::keyClick(&strip, Qt::Key_Space);
    ASSERT_EQ(moved.count(), 2);
    EXPECT_DOUBLE_EQ(moved[0][0].toDouble(), 163.5); // from 162.5
    EXPECT_DOUBLE_EQ(moved[1][0].toDouble(), 152.5);
    EXPECT_EQ(replace.count(), 0);
}

TEST_F(Strip, ADragMovesThePlateByTheSameMillimetres)
{
    QSignalSpy moved(&strip, &StripDrawing::plateMoved);
    const QPoint grip = strip.plateRect().center().toPoint();
    const double mmPerPixel =
        420.0 / (strip.siteRect(12).center().x() - strip.siteRect(1).center().x()) * (402.5 - 17.5) / 420;
    QTest::mousePress(&strip, Qt::LeftButton, {}, grip);
    QTest::mouseMove(&strip, grip + QPoint(50, 0));
    ASSERT_GE(moved.count(), 1);
    EXPECT_NEAR(moved.last()[0].toDouble(), 162.5 + 50 * mmPerPixel, 1.0);
    EXPECT_TRUE(moved.last()[1].toBool());
    QTest::mouseRelease(&strip, Qt::LeftButton, {}, grip + QPoint(50, 0));
    EXPECT_FALSE(moved.last()[1].toBool());
}

TEST_F(Strip, SaysItselfInWords)
{
    EXPECT_TRUE(strip.summary().contains("To replace: site 6")) << strip.summary().toStdString();
    EXPECT_TRUE(strip.siteText(6).contains("its lens comes off")) << strip.siteText(6).toStdString();
    EXPECT_FALSE(strip.accessibleDescription().isEmpty());
}

TEST(ChoiceField, TextThatNamesNoEntryLeavesTheChoice)
{
    ChoiceField field("Paste");
    field.addChoice("Sn42Bi58, no-clean", "a");
    field.addChoice("SAC305, no-clean", "b");
    field.setChoice("b");
    QSignalSpy chosen(&field, &ChoiceField::chosen);
    field.show();
    field.lineEdit()->setText("nonsense");
    QFocusEvent leave(QEvent::FocusOut);
    QApplication::sendEvent(&field, &leave);
    EXPECT_EQ(field.choice(), "b");
    EXPECT_EQ(field.currentText(), "SAC305, no-clean");
    EXPECT_EQ(chosen.count(), 0);
}

TEST(ChoiceField, TheWheelDoesNotChangeItWithoutFocus)
{
    ChoiceField field("Paste");
    field.addChoice("one", "a");
    field.addChoice("two", "b");
    field.setChoice("a");
    QSignalSpy chosen(&field, &ChoiceField::chosen);
    QWheelEvent down(QPointF(5, 5), QPointF(5, 5), {}, {0, -120}, Qt::NoButton, Qt::NoModifier,
                     Qt::NoScrollPhase, false);
    QApplication::sendEvent(&field, &down);
    EXPECT_EQ(field.choice(), "a");
    EXPECT_EQ(chosen.count(), 0);
}

} // namespace stripwright
