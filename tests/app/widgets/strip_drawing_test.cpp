#include "widgets/strip_drawing.h"

#include "demo_sheet.h"
#include "widgets/choice_field.h"
#include "widgets/look.h"

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

TEST_F(Strip, EverySiteAtWhichALimitIsBrokenIsMarkedAndOthersAreNot)
{
    const auto plan = std::make_shared<HeatPlan>();
    plan->sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const auto row = [&](StationKind kind, int site, double margin, bool habit = false) {
        MarginRow made{.limit = {.station = {kind, site}, .what = "peak", .metric = Metric::Peak, .min = 140},
                       .nominal = 140 + margin,
                       .margin = margin,
                       .normalisedMargin = margin / 10};
        made.limit.habit = habit;
        plan->margins.push_back(made);
    };
    row(StationKind::Joint, 5, -9); // the coldest
    row(StationKind::Joint, 6, -2);
    row(StationKind::Body, 7, -1);
    row(StationKind::Joint, 8, -1, true);
    row(StationKind::Joint, 9, 1);
    strip.setPlan(plan);
    for (int site = 1; site <= 12; ++site)
        EXPECT_EQ(strip.breaksLimit(site), site >= 5 && site <= 7) << site;
    EXPECT_TRUE(strip.summary().contains("Limits are broken at site 5-7.")) << strip.summary().toStdString();
    EXPECT_TRUE(strip.siteText(6).contains("breaks a limit: peak")) << strip.siteText(6).toStdString();
    const QImage marked = strip.grab().toImage();
    for (const int site : {5, 6, 7}) {
        const QRect ring = strip.siteRect(site).toAlignedRect().adjusted(-1, -1, 1, 1);
        bool seen = false;
        for (int x = ring.left(); x <= ring.right(); ++x)
            seen = seen || marked.pixelColor(x, ring.top() + 1) == look().abnormal;
        EXPECT_TRUE(seen) << site;
    }
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

static MarginRow peakOf(const std::string& station, double atC, double maxC)
{
    MarginRow row;
    row.limit = {.id = station + "/peak",
                 .station = StationId::named(station).value(),
                 .what = station,
                 .metric = Metric::Peak,
                 .max = maxC,
                 .protects = true};
    row.low = atC - 4;
    row.nominal = atC - 2;
    row.high = atC;
    row.margin = maxC - atC;
    row.normalisedMargin = row.margin / 10;
    return row;
}

TEST_F(Strip, ALensIsJudgedByTheWorstOfItselfItsFootAndItsGlue)
{
    auto plan = std::make_shared<HeatPlan>();
    plan->sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const double footC = plan->sheet.strip.lens->footMaxC, holdC = plan->sheet.strip.glue->holdC;
    const auto ring = [&] {
        const QImage image = strip.grab().toImage();
        const QPointF middle = strip.siteRect(3).center();
        for (int x = int(middle.x() + strip.siteRect(3).width() / 2) + 2; x < int(middle.x()) + 40; ++x)
            if (const QColor at = image.pixelColor(x, int(middle.y())); at.red() > at.green() + 60)
                return true; // blended with the board, red all the same
        return false;
    };
    plan->margins = {peakOf("lens_3", 70, 110), peakOf("glue_3", 65, std::min(footC, holdC))};
    strip.setPlan(plan);
    EXPECT_FALSE(ring());
    plan->margins[1] = peakOf("glue_3", std::min(footC, holdC) + 3, std::min(footC, holdC));
    strip.setPlan(plan);
    EXPECT_TRUE(ring());
    const QString part = holdC < footC   ? "at its glue"
                         : footC < holdC ? "at its foot"
                                         : "at its foot and glue";
    EXPECT_TRUE(strip.siteText(3).contains(part)) << strip.siteText(3).toStdString();
    EXPECT_TRUE(strip.siteText(3).contains("−3.0 K")) << strip.siteText(3).toStdString();
    EXPECT_FALSE(strip.siteText(2).contains("predicted"));
    plan->margins[0] = peakOf("lens_3", 140, 110);
    strip.setPlan(plan);
    EXPECT_TRUE(strip.siteText(3).contains("at its lens")) << strip.siteText(3).toStdString();
}

TEST_F(Strip, ThePlateLiesWhereTheChosenHeatPutsItUntilTheSheetChanges)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    for (int site : {2, 9})
        sheet.sites[size_t(site) - 1].state = SiteState::Replace;
    strip.setSheet(sheet);
    const QRectF own = strip.plateRect();
    auto heat = std::make_shared<HeatPlan>();
    heat->sheet = sheet;
    heat->sheet.plateStartMm = -32.5;
    heat->sheet.sites[8].state = SiteState::Later;
    heat->heat = 2;
    heat->ofHeats = 3;
    strip.setHeat(heat);
    EXPECT_LT(strip.plateRect().left(), own.left() - 50);
    EXPECT_TRUE(strip.summary().contains("In heat 2 of 3") && strip.summary().contains("−32.5"))
        << strip.summary().toStdString();
    EXPECT_FALSE(strip.siteText(2).contains("another heat"));
    EXPECT_TRUE(strip.siteText(9).contains("in another heat")) << strip.siteText(9).toStdString();
    QSignalSpy moved(&strip, &StripDrawing::plateMoved);
    QTest::keyClick(&strip, Qt::Key_Down);
    QTest::keyClick(&strip, Qt::Key_Right);
    ASSERT_EQ(moved.count(), 1);
    EXPECT_DOUBLE_EQ(moved[0][0].toDouble(), -31.5) << "from where it is drawn";
    sheet.title = "another";
    strip.setSheet(sheet);
    EXPECT_EQ(strip.plateRect(), own);
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
