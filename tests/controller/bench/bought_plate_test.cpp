#include "bought_plate.h"

#include <cmath>
#include <gmock/gmock.h>

using namespace stripwright;

namespace {

SimulatedPlateOptions bought(DriveKind drive = DriveKind::Duty)
{
    SimulatedPlateOptions options;
    options.drive = drive;
    options.tellsTruth = false;
    return options;
}

struct Kind {
    const char* name;
    const char* map;
    SimulatedPlateOptions options;
    double rmsK;
};

std::vector<Kind> kinds()
{
    std::vector<Kind> all;
    const auto add = [&](const char* name, const char* map, DriveKind drive, auto change, double rmsK) {
        all.push_back({name, map, bought(drive), rmsK});
        change(all.back().options);
    };
    using Options = SimulatedPlateOptions;
    const auto wholeDegrees = [](Options& it) { it.readingEveryS = it.readingStepK = 1; };
    add(
        "AsItComes", "plain", DriveKind::Duty, [](Options&) {}, 2);
    add("ReadingsEachSecondInWholeDegrees", "plain", DriveKind::Duty, wholeDegrees, 2);
    add(
        "ReadingsEachFiveSeconds", "plain", DriveKind::Duty, [](Options& it) { it.readingEveryS = 5; }, 2);
    add(
        "ReadingsEachTwoSeconds", "plain", DriveKind::Duty, [](Options& it) { it.readingEveryS = 2; }, 2);
    add(
        "WindowOfTwoSeconds", "plain", DriveKind::Duty, [](Options& it) { it.outputWindowS = 2; }, 2);
    add(
        "RelayThatStandsTwoSeconds", "modules", DriveKind::Duty, [](Options& it) { it.leastOnS = 2; }, 2);
    add(
        "OwnLoop", "plain", DriveKind::Setpoint, [](Options&) {}, 2);
    add(
        "OwnLoopReadEachSecond", "plain", DriveKind::Setpoint, [](Options& it) { it.readingEveryS = 1; }, 2);
    add(
        "OwnLoopWithAWindowOfASecond", "floats", DriveKind::Setpoint,
        [](Options& it) { it.outputWindowS = 1; }, 2);
    add(
        "OwnLoopWithItsRamp", "sixteenths", DriveKind::Setpoint, [](Options& it) { it.ownRampCPerS = 0.2; },
        2);
    return all;
}

class BoughtPlates : public testing::TestWithParam<Kind> {};

TEST_P(BoughtPlates, RunThroughWithoutATripAndAreFoundOffAtTheEnd)
{
    BoughtPlate one(GetParam().options, GetParam().map);
    one.run();
    EXPECT_EQ(one.tripped, "");
    EXPECT_EQ(one.last.outcome, Outcome::Completed) << one.last.outcomeText.data();
    EXPECT_EQ(one.last.heater, HeaterState::OffConfirmed);
    EXPECT_EQ(one.appliedNow(), 0);
    EXPECT_LT(one.rmsK(), GetParam().rmsK);
}

INSTANTIATE_TEST_SUITE_P(Kinds, BoughtPlates, testing::ValuesIn(kinds()),
                         [](const auto& param) { return param.param.name; });

/// Seconds from now to the trip; 0: none came in 100 s.
double secondsToTrip(BoughtPlate& one)
{
    double seconds = 0;
    for (; seconds < 100 && one.tripped.empty(); seconds += one.periodS)
        one.cycle();
    return one.tripped.empty() ? 0 : seconds;
}

TEST(BoughtPlateFaults, AreFoundAlsoWhereReadingsComeEachSecondInWholeDegrees)
{
    struct Case {
        Fault fault;
        const char* words;
        double withinS;
    };
    // What a degree a step hides of an open heater only a minute at full power brings to light.
    for (const Case& test : {Case{Fault::HeaterOpen, "no rise", 70}, Case{Fault::SensorStuck, "stale", 30},
                             Case{Fault::CounterStuck, "stale reading: the plate's update counter", 6},
                             Case{Fault::SensorOpen, "sensor fault", 4},
                             Case{Fault::WriteIgnored, "does not take commands", 8}}) {
        SimulatedPlateOptions options = bought();
        options.readingEveryS = options.readingStepK = 1;
        BoughtPlate one(options);
        one.run([&] { return one.last.profileS > 60; });
        one.change([&](SimulatedPlate& plate) { plate.addFault({.fault = test.fault}); });
        const double seconds = secondsToTrip(one);
        EXPECT_THAT(one.tripped, testing::HasSubstr(test.words));
        EXPECT_GT(seconds, 0);
        EXPECT_LE(seconds, test.withinS) << one.tripped;
        if (test.fault != Fault::WriteIgnored) {
            one.cycle();
            EXPECT_EQ(one.appliedNow(), 0) << one.tripped;
        }
    }
}

TEST(BoughtPlateFaults, RampThatIsSwitchedOnAgainDuringAHeatEndsIt)
{
    SimulatedPlateOptions options = bought(DriveKind::Setpoint);
    options.ownRampCPerS = 0.3;
    BoughtPlate one(options);
    one.run([&] { return one.last.profileS > 60; });
    ASSERT_EQ(one.tripped, "");
    one.change([](SimulatedPlate& plate) { plate.setOwnRampCPerS(0.3); });
    const double seconds = secondsToTrip(one);
    EXPECT_GT(seconds, 0);
    EXPECT_LE(seconds, 2);
    EXPECT_THAT(one.tripped, testing::HasSubstr("somebody changes its settings"));
    one.cycle();
    one.change([](SimulatedPlate& plate) {
        EXPECT_EQ(plate.setpointC(), 0) << "only an enable output would end its heat before it has come down";
    });
}

// What the relay of the client's own switching is spared.
TEST(BoughtPlateRelay, StandsTwoSecondsThroughAHeatButForHeaterOff)
{
    SimulatedPlateOptions options = bought();
    BoughtPlate one(options, "modules", [](PlateLink& link) { link.leastOnS = 2; });
    double stoodS = 0, last = 0, shortestOffS = 1e9, shortestOnS = 1e9;
    int changes = 0;
    one.each = [&](double applied) {
        if (applied != last) {
            double& shortest = last > 0 ? shortestOnS : shortestOffS;
            shortest = changes++ > 0 ? std::min(shortest, stoodS) : shortest;
            stoodS = 0;
        }
        last = applied;
        stoodS += SimulatedPlate::stepS;
    };
    one.run([&] { return one.last.profileS > 140; }); // while heat is wanted without a break
    EXPECT_GT(changes, 10);
    EXPECT_GE(shortestOffS, 2 - 1e-6);
    EXPECT_GE(shortestOnS, 2 - 1e-6);
    one.loop->requestStop();
    one.cycle();
    one.cycle();
    EXPECT_EQ(one.appliedNow(), 0);
}

} // namespace
