#include "interlocks/heat_balance.h"
#include "interlocks/interlock_set.h"

#include <cmath>
#include <functional>
#include <gtest/gtest.h>

using namespace stripwright;

static PlateFigures plate()
{
    return {700, 900, 1.2, 0.05, 4, 2.5, 1, 25};
}

TEST(Persistence, KnowingNothingIsNeitherAYesNorANo)
{
    Persistence held;
    EXPECT_FALSE(held.held(true, 0, 4));
    for (double s = 0.2; s < 4; s += 0.4) {
        EXPECT_FALSE(held.held(std::nullopt, s, 4));
        EXPECT_FALSE(held.held(s < 3.9, s + 0.2, 5));
    }
    EXPECT_FALSE(held.held(std::nullopt, 4.5, 4)) << "only a yes may end it";
    EXPECT_TRUE(held.held(true, 4.6, 4));
    EXPECT_FALSE(held.held(false, 4.8, 4));
    EXPECT_FALSE(held.held(true, 5, 4));
}

TEST(Persistence, BeginsAnewAfterALongGap)
{
    Persistence held;
    held.held(true, 0, 4);
    EXPECT_FALSE(held.held(true, 0 + Persistence::longestGapS + 0.1, 3));
    EXPECT_FALSE(held.held(true, 5, 3));
    EXPECT_TRUE(held.held(true, 6.2, 3));
}

static Observation at(double s, std::optional<double> duty, double sensorC)
{
    Observation seen;
    seen.plantS = seen.wallS = s;
    seen.answered = true;
    seen.duty = duty;
    seen.sensorC = sensorC;
    return seen;
}

TEST(HeatBalance, UnknownDutyIsARangeThatTheLagsForget)
{
    HeatBalance balance(plate());
    double s = 0;
    for (; s < 20; s += 0.2)
        balance.update(at(s, {}, 25));
    EXPECT_FALSE(balance.givenShare());
    EXPECT_GT(*balance.givenAtMost(), 0.9);
    for (; s < 25; s += 0.2)
        balance.update(at(s, 0, 25));
    EXPECT_FALSE(balance.givenShare()) << "what was given before is still on its way";
    EXPECT_GT(*balance.givenAtMost(), 0.3);
    for (; s < 60; s += 0.2)
        balance.update(at(s, 0, 25));
    ASSERT_TRUE(balance.givenShare());
    EXPECT_LT(*balance.givenAtMost(), 0.01);
}

TEST(InterlockSet, NamesEveryCauseOfACycleAndForgetsItInTheNext)
{
    InterlockSet checks(plate(), 255, 300);
    Observation hot = at(0, 0, 260);
    hot.heating = true;
    checks.examine(hot);
    ASSERT_EQ(checks.causeCount(), 1);
    EXPECT_EQ(checks.causes()[0].interlock, Interlock::OverTemperature);
    Observation fine = at(0.2, 0, 254.5);
    checks.examine(fine);
    EXPECT_EQ(checks.causeCount(), 0);
    EXPECT_TRUE(checks.latch().tripped());
}

TEST(InterlockSet, AReadingLostNowAndThenDoesNotDisarmTheCheckOfIgnoredCommands)
{
    for (const int everyNth : {2, 3, 4}) {
        InterlockSet checks(plate(), 255, 300);
        double s = 0;
        for (int n = 1; s < 5 && !checks.latch().tripped(); ++n, s += 0.2) {
            Observation seen = at(s, 0.5, 25 + 0.1 * n);
            seen.heating = true;
            seen.commandConfirmed = false;
            if (n % everyNth == 0) {
                seen.answered = false;
                seen.sensorC.reset();
            }
            checks.examine(seen);
        }
        EXPECT_LE(s, 1.5) << everyNth;
    }
}

TEST(CommandNotConfirmed, OneLostReadingIsNoRestartOfThePlate)
{
    for (const int lost : {1, 2}) {
        CommandNotConfirmed check;
        Observation seen;
        seen.heating = seen.answered = seen.commandConfirmed = true;
        double s = 10;
        const auto next = [&](bool answered, bool foreign) {
            seen.wallS = seen.plantS = s += 0.5; // a slow line
            seen.answered = answered;
            seen.foreignWrite = foreign;
            return check.examine(seen).action;
        };
        next(true, false);
        for (int n = 0; n < lost; ++n)
            next(false, false);
        EXPECT_EQ(next(true, true), lost > 1 ? Action::HeaterOff : Action::None) << lost;
    }
}

TEST(CommandNotConfirmed, ForeignWritesOfASlowPlateAreCountedOverAsLongAsItMayBeSilent)
{
    const auto foundAfter = [](double everyS, double longestSilenceS) {
        CommandNotConfirmed check;
        Observation seen;
        seen.heating = seen.answered = seen.commandConfirmed = seen.foreignWrite = true;
        seen.longestSilenceS = longestSilenceS;
        std::string text;
        for (int n = 0; n < 3; ++n) {
            seen.wallS = seen.plantS = 100 + everyS * n;
            text = check.examine(seen).text.data();
        }
        return text;
    };
    EXPECT_EQ(foundAfter(7, 1), "");
    EXPECT_NE(foundAfter(4, 1).find("seen three times in 10 s"), std::string::npos);
    EXPECT_NE(foundAfter(7, 15).find("seen three times in 18 s"), std::string::npos);
    EXPECT_EQ(foundAfter(10, 15), "");
}

TEST(NoRise, WhatTheStripShouldDrawIsNotMissedAndAnOpenHeaterIs)
{
    const auto trips = [](double duty, double risingShare, double loadShare) {
        NoRise check(plate());
        HeatBalance balance(plate());
        bool tripped = false;
        for (double s = 0; s < 30; s += 0.2) {
            Observation seen = at(s, duty, 25 + risingShare * 900 / 700 * s);
            seen.heating = true;
            seen.loadShare = loadShare;
            balance.update(seen);
            tripped = tripped || check.examine(seen, balance).action == Action::HeaterOff;
        }
        return tripped;
    };
    EXPECT_TRUE(trips(0.6, 0.15, 0));
    EXPECT_FALSE(trips(0.6, 0.15, 0.25));
    EXPECT_TRUE(trips(0.6, -0.25, 0.25)) << "the strip goes on drawing";
    EXPECT_TRUE(trips(1, 0, 5)) << "whatever the plan says of its strip";
}

TEST(NoRise, ColdLoadThatWarmsUpIsNoMissingHeat)
{
    for (const double taken : {0.45, 0.5, 0.55}) {
        NoRise check(plate());
        HeatBalance balance(plate());
        double sensorC = 25;
        for (double s = 0; s < 80; s += 0.2) {
            const double board = s < 30 ? 0 : taken * std::exp((30 - s) / 12.5);
            sensorC += 0.2 * ((0.5 - board) * 900 - plate().lossW(sensorC)) / 700;
            Observation seen = at(s, 0.5, sensorC);
            seen.heating = true;
            balance.update(seen);
            EXPECT_NE(check.examine(seen, balance).action, Action::HeaterOff) << taken << " at " << s;
        }
    }
}

TEST(NoRise, OfLittleHeatADraughtMayTakeAllAndOnceMoreIsGivenAnOpenHeaterShowsAtOnce)
{
    NoRise check(plate());
    HeatBalance balance(plate());
    double trippedS = INFINITY;
    for (double s = 0; s < 60 && trippedS == INFINITY; s += 0.2) {
        Observation seen = at(s, s < 30 ? 0.2 : 0.4, 25);
        seen.heating = true;
        balance.update(seen);
        if (check.examine(seen, balance).action == Action::HeaterOff)
            trippedS = s;
    }
    EXPECT_GT(trippedS, 30);
    EXPECT_LT(trippedS, 40) << "the lags, and no wait after them";
}

// Seconds from when a whole plate's reading goes its own way until heat ends.
static double muchMissingAfterS(double duty, double plateC, const std::function<double(double)>& readC)
{
    MuchMissing check(plate());
    HeatBalance quick(plate(), 2.5);
    const double whole = (duty * 900 - plate().lossW(plateC)) / 700; // K/s
    for (double s = -30; s < 40; s += 0.2) {
        Observation seen = at(100 + s, duty, s < 0 ? plateC + whole * s : readC(s));
        seen.heating = true;
        quick.update(seen);
        if (check.examine(seen, quick).action == Action::HeaterOff)
            return s;
    }
    return INFINITY;
}

TEST(MuchMissing, SensorThatHasComeOffEndsTheHeatWithinFiveSeconds)
{
    for (const auto& [duty, startC] : {std::pair(0.8, 32.0), {1.0, 60.0}, {0.25, 100.0}, {0.5, 200.0}}) {
        const double plateC = startC;
        EXPECT_LE(
            muchMissingAfterS(duty, plateC, [&](double s) { return 25 + (plateC - 25) * std::exp(-s / 60); }),
            5)
            << plateC;
    }
}

TEST(MuchMissing, WeakMainsADraughtAndAColdBoardAtOnceAreBorne)
{
    for (const double duty : {0.3, 1.0})
        for (const double plateC : {30.0, 100.0, 200.0}) {
            const double boardW = 2.4 * (plateC - 5);
            double readC = plateC, lastS = 0;
            EXPECT_EQ(muchMissingAfterS(duty, plateC,
                                        [&](double s) {
                                            const double w = 0.64 * duty * 900 - plate().lossW(readC) - 120 -
                                                             boardW * std::exp(-s / 12.5);
                                            readC += (s - lastS) * w / 700;
                                            lastS = s;
                                            return readC;
                                        }),
                      INFINITY)
                << duty << " at " << plateC;
        }
}

TEST(MuchMissing, PlateOfWhichNothingIsKnownIsNotJudged)
{
    MuchMissing check(PlateFigures{});
    HeatBalance quick(PlateFigures{}, 2.5);
    for (double s = 0; s < 20; s += 0.2) {
        Observation seen = at(s, 1, 25);
        seen.heating = true;
        quick.update(seen);
        ASSERT_EQ(check.examine(seen, quick).action, Action::None);
    }
}

TEST(UnexpectedHeat, MuchMoreThanGivenShowsAfterAShortWhile)
{
    UnexpectedHeat check;
    HeatBalance balance(plate()), quick(plate(), 2.5);
    double sensorC = 25, trippedS = INFINITY;
    for (double s = 0; s < 60 && trippedS == INFINITY; s += 0.2) {
        sensorC += s < 30 ? 0 : 0.2 * (900 - plate().lossW(sensorC)) / 700;
        const Observation seen = at(s, 0.3, sensorC);
        balance.update(seen);
        quick.update(seen);
        if (check.examine(seen, balance, quick).action == Action::HeaterOff)
            trippedS = s;
    }
    EXPECT_GT(trippedS, 30);
    EXPECT_LE(trippedS, 34);
}

TEST(CommandNotConfirmed, SecondCommandInARowThatIsAnsweredAndNotDoneEndsTheHeat)
{
    CommandNotConfirmed check;
    Observation seen;
    seen.heating = seen.answered = true;
    double s = 10;
    const auto next = [&](bool refused) {
        seen.wallS = seen.plantS = s += 0.2;
        seen.commandRefused = refused;
        seen.commandConfirmed = !refused;
        return check.examine(seen).action;
    };
    for (const bool refused : {true, false, true, false, true})
        EXPECT_EQ(next(refused), Action::None);
    EXPECT_EQ(next(true), Action::HeaterOff);
}

TEST(LinkLost, LineThatLosesHalfOfItsAnswersEndsTheHeatAndOneThatLosesAFifthIsSaidOnce)
{
    LinkLost check;
    Observation seen;
    seen.answered = true;
    int warned = 0;
    for (const double share : {0.0, 0.15, 0.2, 0.1, 0.45, 0.45}) {
        seen.wallS += 0.2;
        seen.failedShare = share;
        const Finding finding = check.examine(seen);
        EXPECT_NE(finding.action, Action::HeaterOff) << share;
        warned += finding.action == Action::Warn;
    }
    EXPECT_EQ(warned, 1);
    seen.failedShare = 0.5;
    EXPECT_EQ(check.examine(seen).action, Action::HeaterOff);
}

TEST(InterlockSet, EndOfHeatIsNewsAlsoWhereTheSameCheckHadWarned)
{
    InterlockSet checks(plate(), 255, 300);
    Observation seen = at(0, 0.5, 100);
    seen.heating = true;
    checks.examine(seen);
    seen = at(0.8, 0.5, 100);
    seen.heating = true;
    seen.failedShare = 0.2;
    checks.examine(seen);
    ASSERT_EQ(checks.newsCount(), 1);
    EXPECT_EQ(checks.news()[0].action, Action::Warn);
    seen.plantS = seen.wallS = 1.0;
    seen.failedShare = 0.5;
    checks.examine(seen);
    ASSERT_EQ(checks.newsCount(), 1);
    EXPECT_EQ(checks.news()[0].action, Action::HeaterOff);
}

TEST(ShortWindow, CoarseStepsOfASensorAreNeitherUnexpectedNorMissingHeat)
{
    for (const PlateFigures& figures : {plate(), PlateFigures{700, 280, 1.2, 0.05, 4, 2.5, 1, 25}})
        for (const double stepK : {0.1, 0.5, 1.0})
            for (const double periodS : {0.2, 0.4, 0.8})
                for (const double startC : {25.0, 150.0})
                    for (const double duty : {0.0, 0.3, 1.0}) {
                        InterlockSet checks(figures, 1000, 1000);
                        double elementW = 0, plateC = startC, shownC = startC;
                        for (double s = 0; s < 120; s += periodS) {
                            const double given = s < 20 ? 0 : duty;
                            elementW += (given * figures.powerW - elementW) * (1 - std::exp(-periodS / 4));
                            plateC +=
                                periodS * (elementW - figures.lossW(plateC)) / figures.heatCapacityJPerK;
                            shownC += (plateC - shownC) * (1 - std::exp(-periodS / 2.5));
                            Observation seen = at(s, given, std::round(shownC / stepK) * stepK);
                            seen.heating = given > 0;
                            checks.examine(seen);
                            ASSERT_FALSE(checks.latch().tripped())
                                << checks.latch().firstOut().text.data() << " step " << stepK << " period "
                                << periodS << " from " << startC << " duty " << duty << " at " << s;
                        }
                    }
}

TEST(StaleReading, CoarseSensorThatIsTwoStepsBehindItsPathIsAwakeAndOneThatNeverMovesIsNot)
{
    const auto trippedS = [](double stepK, double behindK, bool stuck) {
        StaleReading check;
        for (double s = 0; s < 60; s += 0.2) {
            Observation seen = at(s, 0.5, 0);
            seen.heating = true;
            seen.expectedC = 25 + 0.5 * s;
            const double trueC = s < 2 * behindK ? 25 : *seen.expectedC - behindK;
            seen.sensorC = stuck ? 25 : std::round(trueC / stepK) * stepK;
            if (check.examine(seen).action == Action::HeaterOff)
                return s;
        }
        return double(INFINITY);
    };
    EXPECT_EQ(trippedS(1, 2, false), INFINITY);
    EXPECT_EQ(trippedS(0.5, 1, false), INFINITY);
    EXPECT_LE(trippedS(1, 0, true), 13);
}

// Whether a reading that goes by this while nothing is heated is said to fall too fast.
static bool saidToFall(const std::function<double(double readC)>& slopeCPerS, double fromC)
{
    FallsTooFast check(plate());
    HeatBalance balance(plate());
    double readC = fromC;
    for (double s = 0; s < 120; s += 0.2) {
        const Observation seen = at(s, 0, readC);
        balance.update(seen);
        if (check.examine(seen, balance).action == Action::Warn)
            return true;
        readC += 0.2 * slopeCPerS(readC);
    }
    return false;
}

TEST(FallsTooFast, SensorThatHasComeOffACoolingPlateIsSaidAndAFanOrAColdBlockIsNot)
{
    const auto natural = [](double c) { return -plate().lossW(c) / 700; };
    for (const double fromC : {90.0, 150.0, 230.0}) {
        EXPECT_TRUE(saidToFall([](double c) { return (25 - c) / 60; }, fromC)) << fromC;
        EXPECT_FALSE(saidToFall([&](double c) { return 2.5 * natural(c); }, fromC)) << fromC;
        double blockW = 2.4 * (fromC - 5);
        EXPECT_FALSE(saidToFall([&](double c) { return natural(c) - (blockW *= 0.984) / 700; }, fromC))
            << fromC;
    }
}
