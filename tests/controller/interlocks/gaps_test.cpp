#include "interlocks/heat_balance.h"
#include "interlocks/interlock_set.h"

#include <cmath>
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
