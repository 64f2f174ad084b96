#include "tuning/learnt_figures.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

using testing::AllOf;
using testing::Contains;
using testing::Each;
using testing::HasSubstr;
using testing::Not;

TEST(LearntFigures, HaveTheDigitsThatTheirErrorLeaves)
{
    EXPECT_EQ(withError(194.37, 11.2), "194 +- 11");
    EXPECT_EQ(withError(194.37, 4.1), "194 +- 4");
    EXPECT_EQ(withError(7.512, 0.31), "7.5 +- 0.3");
    EXPECT_EQ(withError(1.2857, 0.026), "1.29 +- 0.03");
    EXPECT_EQ(withError(1944, 58), "1940 +- 60");
    EXPECT_EQ(withError(99.6, 0.98), "99.6 +- 1.0");
    EXPECT_EQ(withError(194.37, 0), "194.37 +- 0.19") << "no figure is exact";
}

TEST(LearntFigures, FitWithoutAnyErrorLeavesWhatTheModelCannotSee)
{
    PlateFit fit;
    fit.figures.elementLagS = 4;
    const LearntErrors errors = learntErrors(fit);
    EXPECT_GE(errors.capacity, 0.01);
    EXPECT_GE(errors.loss, 0.01);
    EXPECT_DOUBLE_EQ(errors.lag, 0.1 / 4);
    fit.capacityError = fit.lossError = 0.3;
    EXPECT_GT(learntErrors(fit).capacity, 0.3);
    EXPECT_GT(learntErrors(fit).loss, 0.3);
}

TEST(LearntFigures, LagsOfAPlateWhoseLoopTellsNoDutyAreKnownNoBetterThanThatLoop)
{
    PlateFit fit;
    fit.figures.elementLagS = 40;
    fit.ownLoop = OwnLoopFigures{.gainPerK = 0.05, .integralS = 40};
    EXPECT_DOUBLE_EQ(learntErrors(fit).lag, 0.1 / 40) << "it tells its duty";
    fit.fullHeatS = 20;
    EXPECT_GE(learntErrors(fit).lag, 0.05);
}

TEST(LearntFigures, PlansRangeOfLossesIsTwoOfTheirErrorsWithinWhatAnEntryMaySay)
{
    EXPECT_EQ(lossRangeShare(0), 0.05);
    EXPECT_EQ(lossRangeShare(0.06), 0.12);
    EXPECT_EQ(lossRangeShare(0.9), 0.5);
}

static IdentifiedPlate plate()
{
    IdentifiedPlate plate;
    plate.measuredUtc = "2026-11-25T22:00:00Z";
    plate.powerW = 300;
    plate.heatCapacityJPerK = 194;
    plate.lossWPerK = 0.154;
    plate.radiatingAreaM2 = 0.00723;
    plate.elementLagS = 4;
    plate.sensorLagS = 2.5;
    plate.deadTimeS = 1;
    plate.dutyPerK = 0.05;
    plate.capacityError = 0.02;
    plate.lossError = 0.03;
    plate.lagError = 0.02;
    return plate;
}

TEST(LearntFigures, NeverSayThatTheyAreExact)
{
    IdentifiedPlate exact = plate();
    exact.capacityError = exact.lossError = exact.lagError = 0;
    const auto lines = learntLines(exact, {}, 23);
    EXPECT_THAT(lines, Each(Not(HasSubstr("+- 0 "))));
    EXPECT_THAT(lines, Each(Not(HasSubstr("+- 0.0 "))));
    EXPECT_THAT(learntLines(plate(), {}, 23), Contains(HasSubstr("194 +- 4 J/K at 300 W")));
    EXPECT_THAT(learntLines(plate(), {}, 23), Each(Not(HasSubstr("was"))));
}

TEST(LearntFigures, LearntAgainTheyShowWhatHasChangedAndWhetherTheErrorsExplainIt)
{
    IdentifiedPlate now = plate();
    now.heatCapacityJPerK = 243;
    now.elementLagS = 4.1;
    const auto lines = learntLines(now, plate(), 23);
    EXPECT_THAT(lines, Contains(HasSubstr("2026-11-25")));
    EXPECT_THAT(lines,
                Contains(AllOf(HasSubstr("243 +- 5 J/K"), HasSubstr("was 194: +25 %, MORE than both"))));
    EXPECT_THAT(lines, Contains(AllOf(HasSubstr("element lag"), HasSubstr("was 4.0: +2 %"))));
    const double lossW = figuresOf(plate(), 23).lossW(150);
    ASSERT_LT(lossW, 100);
    char was[40];
    std::snprintf(was, sizeof was, "was %.1f: ", lossW);
    EXPECT_THAT(lines, Contains(AllOf(HasSubstr("loss at 150 C"), HasSubstr(was)))) << "small, in full";
    EXPECT_THAT(lines, Contains(AllOf(HasSubstr("lags together"), Not(HasSubstr("MORE")))));
}

TEST(LearntFigures, AnotherTypedPowerIsSaidBesideWhatGoesWithIt)
{
    IdentifiedPlate now = plate();
    now.powerW *= 1.1;
    now.heatCapacityJPerK *= 1.1;
    const auto lines = learntLines(now, plate(), 23);
    EXPECT_THAT(lines, Contains(HasSubstr("330 W, was 300 W")));
    EXPECT_THAT(lines,
                Contains(AllOf(HasSubstr("full heat, cold"), HasSubstr("+0 %"), Not(HasSubstr("MORE")))));
    EXPECT_THAT(lines, Contains(AllOf(HasSubstr("heat capacity"), HasSubstr("was 194: +10 %"),
                                      Not(HasSubstr("MORE")))))
        << "it follows from the power alone";
}

TEST(LearntFigures, HeaterThatGivesLessIsToldFromAPlateThatIsHeavier)
{
    IdentifiedPlate now = plate();
    now.heatCapacityJPerK *= 1.25;
    EXPECT_THAT(learntLines(now, plate(), 23), Each(Not(HasSubstr("as if its heater"))));
    now.lossWPerK *= 1.25;
    now.radiatingAreaM2 *= 1.25;
    EXPECT_THAT(learntLines(now, plate(), 23), Contains(HasSubstr("gave 80 % of what it gave")));
}

} // namespace stripwright
