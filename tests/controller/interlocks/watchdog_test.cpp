#include "interlocks/interlock_set.h"
#include "interlocks/watchdog_at_rest.h"

#include <cstring>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::HasSubstr;

namespace {

/// The check, cycle by cycle, by what is asked for and what the bit reads.
class Cycles {
public:
    Finding of(bool heating, std::optional<bool> bit)
    {
        Observation seen;
        seen.heating = heating;
        seen.answered = bit.has_value();
        seen.watchdogTripped = bit.value_or(false);
        return check_.examine(seen);
    }
    Action rest(bool bit) { return of(false, bit).action; }
    Action heat(std::optional<bool> bit) { return of(true, bit).action; }

private:
    WatchdogTripped check_;
};

TEST(WatchdogTripped, BitThatGoesFromClearToSetUnderHeatTurnsItOff)
{
    Cycles cycles;
    cycles.rest(false);
    EXPECT_EQ(cycles.heat(false), Action::None);
    EXPECT_EQ(cycles.heat(true), Action::HeaterOff);
    EXPECT_EQ(cycles.heat(true), Action::HeaterOff) << "as long as it stands";
}

TEST(WatchdogTripped, BitThatStoodBeforeTheHeatIsSaidAndIsNoTrip)
{
    Cycles cycles;
    EXPECT_EQ(cycles.rest(true), Action::None) << "no heat, nothing to say";
    for (int n = 0; n < 50; ++n) {
        const Finding finding = cycles.of(true, true);
        EXPECT_EQ(finding.action, Action::Warn);
        EXPECT_THAT(finding.text.data(), HasSubstr("since before this heat"));
    }
}

TEST(WatchdogTripped, BitThatStoodBeforeAndWasReadClearCountsAgain)
{
    Cycles cycles;
    cycles.rest(true);
    cycles.heat(true);
    EXPECT_EQ(cycles.heat(false), Action::None) << "cleared by enabling it";
    EXPECT_EQ(cycles.heat(true), Action::HeaterOff);

    Cycles clearedAtRest;
    clearedAtRest.rest(true);
    clearedAtRest.rest(false);
    EXPECT_EQ(clearedAtRest.heat(true), Action::HeaterOff);
}

TEST(WatchdogTripped, BitThatWasNeverReadBeforeTheHeatIsNoLeftover)
{
    Cycles cycles;
    EXPECT_EQ(cycles.heat(true), Action::HeaterOff);
}

TEST(WatchdogTripped, LostReadingsNeitherClearNorSet)
{
    Cycles cycles;
    cycles.rest(true);
    EXPECT_EQ(cycles.heat(std::nullopt), Action::None);
    EXPECT_EQ(cycles.heat(true), Action::Warn) << "it was not read clear meanwhile";
    Cycles clear;
    clear.rest(false);
    clear.heat(std::nullopt);
    EXPECT_EQ(clear.heat(true), Action::HeaterOff);
}

TEST(WatchdogTripped, CutOfTheLastMomentOfAHeatIsNotTakenForALeftoverOfTheNext)
{
    Cycles cycles;
    cycles.rest(false);
    cycles.heat(false);
    EXPECT_EQ(cycles.rest(true), Action::HeaterOff);
}

TEST(InterlockSet, SaysABitThatStoodBeforeOnceInAHeatAndLatchesNothing)
{
    InterlockSet checks({700, 900, 1.2, 0.05, 4, 2.5, 1, 25}, 255, 300);
    int said = 0;
    for (int n = 0; n < 20; ++n) {
        Observation seen;
        seen.plantS = seen.wallS = n * 0.2;
        seen.answered = true;
        seen.sensorC = 25;
        seen.duty = 0;
        seen.watchdogTripped = true;
        seen.heating = n >= 5;
        checks.examine(seen);
        for (int i = 0; i < checks.newsCount(); ++i)
            said += checks.news()[static_cast<size_t>(i)].interlock == Interlock::WatchdogTripped;
    }
    EXPECT_EQ(said, 1);
    EXPECT_FALSE(checks.latch().tripped());
}

/// A plate that has a bit and, perhaps, a register that clears it.
class BitPlate : public Plate {
public:
    bool canClear = true, takesWrite = true, obeys = true, bit = true;
    int writes = 0;

    std::optional<PlateReading> read() override
    {
        PlateReading reading;
        reading.watchdogTripped = bit;
        return reading;
    }
    bool canClearWatchdog() const override { return canClear; }
    bool clearWatchdog() override
    {
        ++writes;
        bit = bit && !(takesWrite && obeys);
        return takesWrite;
    }
    bool setDuty(double) override { return true; }
    bool setSetpointC(double) override { return true; }
    bool heaterOff() override { return true; }
    bool setFan(bool) override { return true; }
    bool setStripLifted(bool) override { return true; }
    std::string lastError() const override { return {}; }
};

WatchdogAtRest lookedAt(BitPlate& plate, double forS)
{
    WatchdogAtRest watchdog;
    for (double s = 0; s < forS; s += 0.2)
        watchdog.look(plate, *plate.read(), s);
    return watchdog;
}

TEST(WatchdogAtRest, ClearsABitThatIsSetOnceAndLetsHeatOnlyWhenItWasReadClear)
{
    BitPlate plate;
    WatchdogAtRest watchdog = lookedAt(plate, 0.1);
    EXPECT_FALSE(watchdog.mayHeat()) << "told, not read yet";
    watchdog.look(plate, *plate.read(), 0.2);
    EXPECT_TRUE(watchdog.mayHeat() && watchdog.wasCleared() && !watchdog.stands());
    EXPECT_EQ(plate.writes, 1);
}

TEST(WatchdogAtRest, WritesNothingWhereTheBitIsClear)
{
    BitPlate plate;
    plate.bit = false;
    const WatchdogAtRest watchdog = lookedAt(plate, 0.1);
    EXPECT_TRUE(watchdog.mayHeat() && !watchdog.wasCleared());
    EXPECT_EQ(plate.writes, 0);
}

TEST(WatchdogAtRest, BitThatNothingClearsStandsAndMayHeat)
{
    BitPlate plate;
    plate.canClear = false;
    const WatchdogAtRest watchdog = lookedAt(plate, 0.1);
    EXPECT_TRUE(watchdog.mayHeat() && watchdog.stands());
    EXPECT_EQ(plate.writes, 0);
}

TEST(WatchdogAtRest, BitThatDoesNotClearRefusesHeat)
{
    for (const bool takesWrite : {true, false}) {
        BitPlate plate;
        plate.takesWrite = takesWrite;
        plate.obeys = false;
        EXPECT_FALSE(lookedAt(plate, 2.9).refusal());
        const WatchdogAtRest watchdog = lookedAt(plate, 4);
        EXPECT_FALSE(watchdog.mayHeat());
        ASSERT_TRUE(watchdog.refusal());
        EXPECT_THAT(watchdog.refusal(), HasSubstr("\"clear_watchdog\""));
        EXPECT_LT(std::strlen(watchdog.refusal()), 200u) << "it must fit a cause's text";
    }
}

} // namespace
