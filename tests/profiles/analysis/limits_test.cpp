#include "analysis/limits.h"

#include <cmath>
#include <functional>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

struct Points {
    std::vector<double> timeS, valueC;
    Curve curve() const { return {timeS, valueC}; }
};

const Points sac{{0, 100, 190, 225, 235, 275, 335}, {25, 150, 200, 242, 242, 142, 52}};

TEST(Measure, TakesEachMetricFromTheCurveOfItsStation)
{
    const auto value = [&](Metric metric, double levelC = 0, double upperLevelC = 0) {
        const Limit limit{.metric = metric, .levelC = levelC, .upperLevelC = upperLevelC, .min = 1};
        return measure(limit, sac.curve()).value();
    };
    EXPECT_NEAR(value(Metric::SteepestRise), 1.25, 1e-12);
    EXPECT_NEAR(value(Metric::SoakTime, 150, 200), 90, 1e-12);
    EXPECT_NEAR(value(Metric::TimeAbove, 217), 40 + 5.0 / 6, 1e-12);
    EXPECT_NEAR(value(Metric::Peak), 242, 1e-12);
    EXPECT_NEAR(value(Metric::MeanCooling, 217), 2.5, 1e-12);
    EXPECT_NEAR(value(Metric::SteepestFall), 2.5, 1e-12);
    EXPECT_NEAR(value(Metric::TimeToPeak), 225 - 4, 1e-12); // From start + 5 K: the curve starts at 25 °C.
}

TEST(Measure, CountsTimeToPeakFrom25DegreesWhenTheCurveStartsBelow)
{
    const Points points{{0, 100, 200}, {15, 215, 50}};
    const Limit limit{.metric = Metric::TimeToPeak, .max = 480};
    EXPECT_NEAR(measure(limit, points.curve()).value(), 100 - 5, 1e-12);
}

TEST(Margin, IsTheDistanceToTheNearestSideAndNegativeOutside)
{
    const Limit limit{.metric = Metric::Peak, .min = 235, .max = 245};
    EXPECT_DOUBLE_EQ(marginOf(limit, 242), 3);
    EXPECT_DOUBLE_EQ(marginOf(limit, 236), 1);
    EXPECT_DOUBLE_EQ(marginOf(limit, 230), -5);
    EXPECT_DOUBLE_EQ(marginOf(limit, 251), -6);
    EXPECT_DOUBLE_EQ(limit.halfWindow(), 5);
}

TEST(Margin, OfAValueThatIsNoneOrNotANumberIsNeverKept)
{
    const Limit least{.metric = Metric::MeanCooling, .min = 1},
        most{.metric = Metric::TimeToPeak, .max = 480},
        fromZero{.metric = Metric::SoakTime, .min = 0, .max = 30};
    EXPECT_DOUBLE_EQ(marginOf(least, {}), -1);
    EXPECT_LT(marginOf(most, {}), 0);
    EXPECT_LT(marginOf(fromZero, {}), 0);
    EXPECT_LT(marginOf(most, std::nan("")), 0);
}

TEST(Margin, OfALoneLimitIsScaledByATenthOfIt)
{
    EXPECT_DOUBLE_EQ((Limit{.metric = Metric::SteepestRise, .max = 3}).halfWindow(), 0.3);
    EXPECT_DOUBLE_EQ((Limit{.metric = Metric::Peak, .max = 85}).halfWindow(), 6); // (85 - 25) / 10
    EXPECT_GT((Limit{.metric = Metric::TimeAbove, .max = 0}).halfWindow(), 0);
    EXPECT_GT((Limit{.metric = Metric::Peak, .min = 200, .max = 200}).halfWindow(), 0);
}

TEST(Margin, OfARowIsTheWorstOfTheCurvesThereAre)
{
    const Limit limit{.station = jointOf(2), .metric = Metric::Peak, .min = 235, .max = 245};
    Points cooler = sac;
    for (double& value : cooler.valueC)
        value -= 5;
    const MarginRow row = marginRow(limit, Judged{cooler.curve()}, Judged{sac.curve()}, {});
    EXPECT_DOUBLE_EQ(row.low.value(), 237);
    EXPECT_DOUBLE_EQ(row.nominal.value(), 242);
    EXPECT_FALSE(row.high);
    EXPECT_DOUBLE_EQ(row.margin, 2);
    EXPECT_DOUBLE_EQ(row.normalisedMargin, 0.4);

    const Limit soak{.metric = Metric::SoakTime, .levelC = 300, .upperLevelC = 310, .min = 60};
    EXPECT_DOUBLE_EQ(marginRow(soak, {}, Judged{sac.curve()}, {}).margin, -60);
}

TEST(Margins, AMissThatNoFigureShowsIsNone)
{
    const auto marginAt = [](Metric metric, double peakC, std::optional<double> min,
                             std::optional<double> max) {
        const Points curve{{0, 100, 200}, {25, peakC, 25}};
        return marginRow({.metric = metric, .min = min, .max = max}, {}, Judged{curve.curve()}, {}).margin;
    };
    EXPECT_EQ(marginAt(Metric::Peak, 154.999, 155, {}), 0);
    EXPECT_EQ(marginAt(Metric::Peak, 80.049, {}, 80), 0);
    EXPECT_NEAR(marginAt(Metric::Peak, 154.94, 155, {}), -0.06, 1e-9);
    EXPECT_NEAR(marginAt(Metric::Peak, 80.06, {}, 80), -0.06, 1e-9);
    EXPECT_EQ(marginAt(Metric::SteepestRise, 125.4, {}, 1), 0); // 1.004 K/s
    EXPECT_NEAR(marginAt(Metric::SteepestRise, 125.6, {}, 1), -0.006, 1e-9);
}

TEST(Margins, AreSortedBrokenLimitsFirstThenBrokenHabitsThenTheRestWorstFirst)
{
    const auto row = [](const char* id, bool habit, double normalised) {
        return MarginRow{
            .limit = {.id = id, .habit = habit}, .margin = normalised, .normalisedMargin = normalised};
    };
    std::vector<MarginRow> rows{row("roomy", false, 2),         row("habit broken far", true, -3),
                                row("tight", false, 0.1),       row("broken", false, -0.5),
                                row("habit tight", true, 0.05), row("habit broken", true, -0.1)};
    sortWorstFirst(rows);
    std::vector<std::string> order;
    for (const MarginRow& r : rows)
        order.push_back(r.limit.id);
    EXPECT_EQ(order, (std::vector<std::string>{"broken", "habit broken far", "habit broken", "habit tight",
                                               "tight", "roomy"}));
}

} // namespace
} // namespace stripwright
