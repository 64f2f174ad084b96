#include "search/minimax_step.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

using Margins = std::vector<AimedMargin>;
using Values = std::vector<double>;

// Two margins that cross: 0.1 + x and 0.5 - x meet at x = 0.2.
TEST(ClimbLinear, LiftsTheWorstMarginToWhereTheNextOneMeetsIt)
{
    const Values step = climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Part, 0.5}}, {1, -1}, {{-1, 1}});
    EXPECT_NEAR(step[0], 0.2, 1e-9);
}

TEST(ClimbLinear, StaysInItsBox)
{
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Part, 0.5}}, {1, -1}, {{-1, 0.05}})[0], 0.05,
                1e-9);
}

// Job -0.2 + x, part -0.5 - x: mending the one breaks the other further.
TEST(ClimbLinear, MakesTheJointBeforeItSparesAPart)
{
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, -0.2}, {AimKind::Part, -0.5}}, {1, -1}, {{-1, 1}})[0], 0.2,
                1e-9);
}

TEST(ClimbLinear, LetsAPartGoThatIsGivenUp)
{
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::GivenUp, -5}}, {1, -1}, {{-1, 0.5}})[0], 0.5,
                1e-9);
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Part, -5}}, {1, -1}, {{-1, 0.5}})[0], -0.1,
                1e-9);
}

TEST(ClimbLinear, KeepsAHabitOnlyForAsMuchOfTheWorstMarginAsItMayCost)
{
    // Each tenth of habit costs a tenth of the margin.
    const Margins margins = {{AimKind::Job, 0.4}, {AimKind::Habit, -0.3}};
    const Values slopes = {-1, 1};
    EXPECT_NEAR(climbLinear({.habitWeight = 0.01}, margins, slopes, {{0, 1}})[0], 0, 1e-9);
    EXPECT_NEAR(climbLinear({.habitWeight = 2, .keepWorst = 0.35}, margins, slopes, {{0, 1}})[0], 0.05, 1e-9);
    // However much of it is broken: a cooling habit may lie eighty half windows off.
    EXPECT_NEAR(climbLinear({.habitWeight = 1, .keepWorst = 0.35},
                            {{AimKind::Job, 0.4}, {AimKind::Habit, -80}}, {-1, 200}, {{0, 1}})[0],
                0.05, 1e-9);
}

// Two to go, then a jump: the step stops short of it although the margin would go on rising.
TEST(ClimbLinear, KeepsAStopClearOfTheLevelBeyondWhichMarginsJump)
{
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Clear, 0.3}}, {1, -1}, {{-1, 0.8}})[0], 0.3,
                1e-9);
    // Within its clearance already it comes no nearer; over the level there is nothing left to keep.
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Clear, -0.5}}, {1, -1}, {{-1, 0.8}})[0], 0,
                1e-9);
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Clear, -1.5}}, {1, -1}, {{-1, 0.8}})[0], 0.8,
                1e-9);
}

// The steepest of two slopes has margin 0.1, the other 0.3 and falls as the first rises.
TEST(ClimbLinear, SeesTheSlopeThatWouldBecomeTheSteepest)
{
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.1}, {AimKind::Slope, 0.3}}, {1, -1}, {{-1, 0.8}})[0], 0.1,
                1e-9);
}

// A tenth of a step is worth a tenth of the margin and a little of the mean.
TEST(ClimbLinear, PaysForDistanceNoMoreThanItIsWorth)
{
    const auto step = [&](double perUnit) {
        return climbLinear({}, {{AimKind::Job, 0.1}}, {1}, {{-1, 1, 0.3, perUnit}})[0];
    };
    EXPECT_NEAR(step(0), 0.9, 1e-9);
    EXPECT_NEAR(step(0.9), 0.9, 1e-9);
    EXPECT_NEAR(step(1.1), 0.3, 1e-9);
    EXPECT_NEAR(climbLinear({}, {{AimKind::Job, 0.5}}, {-1}, {{-1, 1, 0.3, 1.1}})[0], 0.3, 1e-9);
}

TEST(Merit, WeighsABrokenHabitAsItIsTold)
{
    const Merit merit{.habitWeight = 2};
    const double byTheMean = 0.02 * 0.5 / 2; // of all margins
    EXPECT_NEAR(merit.of({{AimKind::Job, 0.3}, {AimKind::Habit, 0}}) -
                    merit.of({{AimKind::Job, 0.3}, {AimKind::Habit, -0.5}}),
                2 * 0.5 + byTheMean, 1e-12);
    EXPECT_NEAR(merit.of({{AimKind::Job, 0.3}, {AimKind::Habit, 0.5}}) -
                    merit.of({{AimKind::Job, 0.3}, {AimKind::Habit, 0}}),
                byTheMean, 1e-12);
}

// What is climbed must be what is judged, or a step that is taken makes things worse.
TEST(Merit, IsWhatTheLinearProgramClimbs)
{
    const Margins margins = {{AimKind::Job, -0.1},   {AimKind::Job, 0.4},
                             {AimKind::Part, 0.3},   {AimKind::GivenUp, -2},
                             {AimKind::Habit, -0.5}, {AimKind::Part, 5}, // out of reach
                             {AimKind::Part, 0.9}};
    const Values slopes = {1, 0.5, -1, 0, 0.3, -0.4, 0.8, -2, 0.1, 1, -2, 3, 0.7, -0.4}; // two numbers
    for (const Merit& merit : {Merit{}, Merit{2, -0.05}}) {
        const auto at = [&](double x, double y) {
            Margins there = margins;
            for (size_t k = 0; k < there.size(); ++k)
                there[k].margin += slopes[2 * k] * x + slopes[2 * k + 1] * y;
            return merit.of(there);
        };
        const Values step = climbLinear(merit, margins, slopes, {{-0.3, 0.3}, {-0.3, 0.3}});
        const double reached = at(step[0], step[1]);
        EXPECT_GT(reached, at(0, 0) + 0.1);
        for (double x = -0.3; x <= 0.3001; x += 0.02)
            for (double y = -0.3; y <= 0.3001; y += 0.02)
                EXPECT_LE(at(x, y), reached + 1e-9) << x << ' ' << y;
    }
}

} // namespace
} // namespace stripwright
