#include "widgets/curve_view.h"
#include "widgets/decimate.h"
#include "widgets/plot_scale.h"

#include <QTest>
#include <algorithm>
#include <cmath>
#include <gtest/gtest.h>
#include <limits>
#include <memory>

namespace stripwright {

TEST(Decimated, KeepsTheOneSampleThatIsHighest)
{
    std::vector<double> t(72000), value(72000, 20.0);
    for (size_t i = 0; i < t.size(); ++i)
        t[i] = double(i) * 0.1;
    value[41237] = 260;
    const auto points = decimated(t, value, 0, 7200, 800);
    EXPECT_LE(points.size(), 800 * 5 + 2);
    EXPECT_TRUE(std::ranges::any_of(points, [](QPointF p) { return p.y() == 260 && p.x() == 4123.7; }));
    EXPECT_EQ(points.front().x(), 0);
    EXPECT_EQ(points.back().x(), t.back());
    EXPECT_TRUE(std::ranges::is_sorted(points, {}, &QPointF::x));
}

TEST(Decimated, KeepsAGapAndOneSampleBeyondEachEnd)
{
    std::vector<double> t(10000), value(10000, 50.0);
    for (size_t i = 0; i < t.size(); ++i)
        t[i] = double(i);
    value[5007] = std::numeric_limits<double>::quiet_NaN();
    const auto points = decimated(t, value, 4000, 6000, 100);
    EXPECT_EQ(points.front().x(), 3999);
    EXPECT_EQ(points.back().x(), 6001);
    EXPECT_EQ(std::ranges::count_if(points, [](QPointF p) { return std::isnan(p.y()); }), 1);
}

TEST(Decimated, OfNothingIsNothing)
{
    EXPECT_TRUE(decimated({}, {}, 0, 10, 100).isEmpty());
}

TEST(PlotScale, StepsAreOneTwoOrFive)
{
    EXPECT_DOUBLE_EQ(stepOver(200, 10), 20);
    EXPECT_DOUBLE_EQ(stepOver(420, 20), 50);
    EXPECT_DOUBLE_EQ(timeStepOver(440, 15), 30);
    EXPECT_DOUBLE_EQ(timeStepOver(7200, 12), 600);
}

TEST(SpreadLabels, MovesThemApartInOrderAndStaysInside)
{
    const auto spread = spreadLabels({100, 98, 99, 10}, 14, 0, 110);
    EXPECT_LE(spread[1] + 14, spread[2] + 1e-9);
    EXPECT_LE(spread[2] + 14, spread[0] + 1e-9);
    EXPECT_LE(spread[0], 110 - 7 + 1e-9);
    EXPECT_DOUBLE_EQ(spread[3], 10);
}

struct Shown {
    CurveView view;
    Shown()
    {
        view.resize(800, 400);
        PlotCurve curve{.name = "joint 6", .colour = Qt::blue};
        for (int i = 0; i <= 100; ++i) {
            curve.timeS.push_back(i);
            curve.valueC.push_back(20 + i);
        }
        view.setSpan(0, 100);
        view.setCurves({curve});
        view.show();
    }
};

TEST(CurveView, SurvivesAPressWhereThereIsNothing)
{
    CurveView empty;
    empty.resize(400, 300);
    empty.show();
    QTest::mouseClick(empty.viewport(), Qt::LeftButton, {}, {200, 150});
    Shown shown;
    QTest::mouseClick(shown.view.viewport(), Qt::LeftButton, {}, {2, 2});
    QTest::mouseDClick(shown.view.viewport(), Qt::LeftButton, {}, {799, 399});
    EXPECT_FALSE(shown.view.zoomed());
}

TEST(CurveView, ReadsEveryNamedCurveUnderTheCursor)
{
    Shown shown;
    EXPECT_EQ(shown.view.reading(50.4), "0:50\njoint 6 70.4 °C");
    EXPECT_EQ(shown.view.reading(101), "1:41"); // no value where there is no curve
}

TEST(CurveView, ADozenNamesThatHaveNoRoomAreOne)
{
    CurveView view;
    view.resize(800, 300);
    const auto show = [&](int joints, double apartC) {
        std::vector<PlotCurve> curves{{.name = "plate", .timeS = {0, 100}, .valueC = {20, 30}}};
        for (int i = 1; i <= joints; ++i)
            curves.push_back({.name = QString("joint %1").arg(i),
                              .timeS = {0, 100},
                              .valueC = {20, 120 + i * apartC},
                              .together = "joints"});
        view.setSpan(0, 100);
        view.setCurves(curves);
    };
    show(12, 0.1);
    EXPECT_EQ(view.namesAtEnds(), (QStringList{"plate", "12 joints"}));
    EXPECT_EQ(view.reading(100), "1:40\nplate 30.0 °C\n12 joints 120.1 to 121.2 °C");
    show(3, 30);
    EXPECT_EQ(view.namesAtEnds(), (QStringList{"plate", "joint 1", "joint 2", "joint 3"}));
    EXPECT_TRUE(view.reading(100).contains("joint 2 180.0 °C"));
}

TEST(CurveView, ZoomsByKeyAndComesBackToTheWhole)
{
    Shown shown;
    QTest::keyClick(&shown.view, Qt::Key_Plus);
    EXPECT_TRUE(shown.view.zoomed());
    EXPECT_NEAR(shown.view.toS() - shown.view.fromS(), 80, 1e-9);
    shown.view.setSpan(0, 200); // a live page is added and must not steal the view
    EXPECT_NEAR(shown.view.toS() - shown.view.fromS(), 80, 1e-9);
    QTest::keyClick(&shown.view, Qt::Key_Home);
    EXPECT_FALSE(shown.view.zoomed());
    EXPECT_DOUBLE_EQ(shown.view.toS(), 200);
}

} // namespace stripwright
