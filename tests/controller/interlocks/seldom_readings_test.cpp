#include "interlocks/interlock_set.h"

#include <cmath>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

PlateFigures plate()
{
    return {700, 900, 1.2, 0.05, 4, 2.5, 1, 25};
}

Observation at(double s, double sensorC, unsigned counter)
{
    Observation seen;
    seen.plantS = seen.wallS = s;
    seen.answered = seen.heating = true;
    seen.longestSilenceS = 15;
    seen.duty = 0.5;
    seen.sensorC = sensorC;
    seen.counter = counter;
    return seen;
}

// A window must never end where a reading may just be in it or not.
TEST(WindowOfReadings, HoldsThreeReadingsAtLeastAlsoWhereEachIsALittleEarlyOrLate)
{
    EXPECT_EQ(windowOfReadingsS(5, 0), 5);
    EXPECT_EQ(windowOfReadingsS(5, 0.2), 5);
    EXPECT_EQ(windowOfReadingsS(2.5, 0.2), 2.5);
    for (const double everyS : {0.5, 0.8, 1.0, 1.3, 2.0, 3.1, 5.0})
        for (const double shortestS : {2.5, 5.0})
            for (const double late : {-0.1, 0.0, 0.1}) {
                const double windowS = windowOfReadingsS(shortestS, everyS);
                EXPECT_GE(windowS, shortestS - 1e-9);
                EXPECT_LT(windowS, std::max(shortestS + 1.5 * everyS, 2.5 * everyS));
                History readings;
                int without = 0;
                for (int n = 0; n < 40; ++n) {
                    readings.push(everyS * (n + (n % 2 ? late : 0)), n);
                    without += n > 10 && !readings.slope(windowS);
                }
                EXPECT_EQ(without, 0) << shortestS << " s of each " << everyS << " s, late " << late;
            }
}

TEST(Persistence, CyclesThatAreFarApartAreNoGaps)
{
    Persistence held;
    int yes = 0;
    for (double s = 0; s < 41; s += 5)
        yes += held.held(true, s, 10);
    EXPECT_GE(yes, 5);
    EXPECT_FALSE(held.held(false, 45, 10));
    held.held(true, 50, 10);
    held.held(std::nullopt, 55, 10);
    EXPECT_TRUE(held.held(true, 60, 10)) << "one that knows nothing";
    EXPECT_FALSE(held.held(true, 75, 10)) << "but not long silence";
}

/// Readings each so often, seen by cycles of as long, now and then one twice and then one missed.
template <class Each> void watch(double everyS, double forS, double slopeCPerS, double stepK, Each each)
{
    int n = 0;
    for (double s = 0; s < forS; s += everyS, ++n) {
        const int taken = n % 4 == 1 ? n - 1 : n;
        each(at(s, stepK * std::round((25 + slopeCPerS * everyS * taken) / stepK), unsigned(taken)));
    }
}

TEST(SeldomReadings, OneSeenTwiceIsNotStale)
{
    for (const double everyS : {1.0, 2.0, 5.0}) {
        StaleReading stale;
        watch(everyS, 120, 0.8, 0.1, [&](Observation seen) {
            seen.expectedC = 25 + 0.8 * seen.plantS;
            EXPECT_EQ(stale.examine(seen).action, Action::None) << everyS << " at " << seen.plantS;
        });
    }
}

TEST(SeldomReadings, AStuckReadingAndAStuckCounterAreFoundAllTheSame)
{
    for (const double everyS : {1.0, 2.0, 5.0})
        for (const bool counterMoves : {true, false}) {
            StaleReading stale;
            double foundS = 0;
            for (double s = 0; s < 100 && foundS == 0; s += everyS) {
                Observation seen = at(s, 25 + std::min(s, 20.0), counterMoves ? unsigned(s) : 7u);
                if (!counterMoves)
                    seen.sensorC = 25 + s;
                seen.expectedC = 25 + s;
                if (stale.examine(seen).action == Action::HeaterOff)
                    foundS = s;
            }
            EXPECT_GT(foundS, 0) << everyS << " " << counterMoves;
            EXPECT_LE(foundS, (counterMoves ? 20 + 12 : 0) + 3 * everyS + 2) << everyS;
        }
}

TEST(SeldomReadings, EveryCheckJudgesAndNoneTripsOnAPlateThatDoesAsItIsTold)
{
    for (const double everyS : {1.0, 2.0, 5.0}) {
        InterlockSet checks(plate(), 255, 300, {}, everyS);
        const double rampCPerS = 0.5;
        int judged = 0, cycles = 0;
        watch(everyS, 200, rampCPerS, 1, [&](Observation seen) {
            seen.duty = (700 * rampCPerS + plate().lossW(25 + rampCPerS * seen.plantS)) / 900;
            seen.expectedC = 25 + rampCPerS * (seen.plantS - 3);
            checks.examine(seen);
            EXPECT_FALSE(checks.latch().tripped()) << everyS << " at " << seen.plantS;
            for (int i = 0; i < checks.newsCount(); ++i)
                ADD_FAILURE() << checks.news()[size_t(i)].text.data();
            ++cycles;
            judged += checks.balance().slopeCPerS().has_value();
        });
        EXPECT_GT(judged, cycles * 2 / 3) << everyS;
    }
}

TEST(SeldomReadings, HeatThatDoesNotArriveOrWasNotGivenIsFound)
{
    for (const double everyS : {1.0, 5.0})
        for (const bool given : {true, false}) {
            InterlockSet checks(plate(), 255, 300, {}, everyS);
            double foundS = 0;
            for (double s = 0; s < 200 && foundS == 0; s += everyS) {
                Observation seen = at(s, given ? 60 : 25 + std::floor(0.8 * s), unsigned(s));
                seen.duty = given ? 0.8 : 0;
                seen.heating = given;
                checks.examine(seen);
                for (int i = 0; i < checks.causeCount(); ++i)
                    if (checks.causes()[size_t(i)].interlock ==
                        (given ? Interlock::NoRise : Interlock::UnexpectedHeat))
                        foundS = s;
            }
            EXPECT_GT(foundS, 0) << everyS << " " << given;
            EXPECT_LT(foundS, 20 + 8 * everyS) << everyS << " " << given;
        }
}

} // namespace
