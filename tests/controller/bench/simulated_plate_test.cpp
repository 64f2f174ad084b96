#include "bench/simulated_plate.h"
#include "test_sheet.h"

#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

SimulatedPlateOptions with(Fault fault, double fromS = 0)
{
    SimulatedPlateOptions options;
    options.faults = {{fault, fromS}};
    return options;
}

SimulatedPlateOptions setpointDrive()
{
    SimulatedPlateOptions options;
    options.drive = DriveKind::Setpoint;
    return options;
}

// Advances in control cycles that read, as a client does.
void advanceReading(SimulatedPlate& plate, double seconds)
{
    for (double t = 0; t < seconds - 1e-9; t += 0.2) {
        plate.advance(0.2);
        plate.read();
    }
}

TEST(SimulatedPlate, PlantTimeIsTheSumOfWhatItWasAdvanced)
{
    SimulatedPlate plate(testSheet());
    for (int i = 0; i < 1000; ++i)
        plate.advance(0.02);
    EXPECT_NEAR(plate.timeS(), 20.0, 1e-9);
    plate.advance(0.049);
    EXPECT_NEAR(plate.timeS(), 20.0, 1e-9);
    plate.advance(0.001);
    EXPECT_NEAR(plate.timeS(), 20.05, 1e-9);
}

// A normal deviate of 0.05 K rounded to 0.1 K steps has variance sum (0.1 k)^2 P(k), P from the error
// function.
TEST(SimulatedPlate, ReadingHasItsNoiseAndStandsOnTenthsOfAKelvin)
{
    SimulatedPlate plate(testSheet());
    const int samples = 20000;
    double sum = 0, squares = 0;
    for (int i = 0; i < samples; ++i) {
        plate.advance(SimulatedPlate::sampleS);
        const double readingC = plate.shown().sensorC;
        ASSERT_NEAR(readingC * 10, std::round(readingC * 10), 1e-9);
        sum += readingC - 25;
        squares += (readingC - 25) * (readingC - 25);
    }
    double variance = 0;
    const auto below = [](double x) { return 0.5 * (1 + std::erf(x / 0.05 / std::sqrt(2.0))); };
    for (int k = -5; k <= 5; ++k)
        variance += 0.01 * k * k * (below(0.1 * k + 0.05) - below(0.1 * k - 0.05));
    const double standardError = std::sqrt(variance / samples);
    EXPECT_NEAR(sum / samples, 0, 4 * standardError);
    EXPECT_NEAR(squares / samples, variance, 0.1 * variance);
}

TEST(SimulatedPlate, SameSeedGivesTheSameReadings)
{
    SimulatedPlateOptions other;
    other.seed = 2;
    SimulatedPlate first(testSheet()), second(testSheet()), third(testSheet(), other);
    int different = 0;
    for (int i = 0; i < 300; ++i) {
        for (SimulatedPlate* plate : {&first, &second, &third})
            plate->advance(0.1);
        ASSERT_EQ(first.shown().sensorC, second.shown().sensorC);
        different += first.shown().sensorC != third.shown().sensorC;
    }
    EXPECT_GT(different, 30);
}

TEST(SimulatedPlate, ReadingComesLaterByTheDeadTime)
{
    BenchSheet prompt = testSheet(), late = testSheet();
    prompt.plate.deadTimeS = 0;
    late.plate.deadTimeS = 1.5;
    SimulatedPlateOptions quiet;
    quiet.noiseK = 0;
    SimulatedPlate first(prompt, quiet), second(late, quiet);
    first.setDuty(1);
    second.setDuty(1);
    advanceReading(second, 1.4);
    second.advance(0.1);
    for (int i = 0; i < 200; ++i) {
        ASSERT_EQ(second.shown().sensorC, first.shown().sensorC) << i;
        for (SimulatedPlate* plate : {&first, &second}) {
            plate->advance(0.1);
            plate->read();
        }
    }
    EXPECT_GT(first.shown().sensorC, 30);
}

TEST(SimulatedPlate, CounterCountsSensorSamples)
{
    SimulatedPlate plate(testSheet());
    const unsigned start = plate.shown().counter.value();
    plate.advance(1.0);
    EXPECT_EQ(plate.shown().counter.value(), start + 10);
}

TEST(SimulatedPlate, HeatPutInIsDutyTimesTruePowerAndIsAllAccountedFor)
{
    SimulatedPlate plate(testSheet());
    plate.setDuty(0.4);
    advanceReading(plate, 120);
    const EnergyBalance energy = plate.energy();
    EXPECT_NEAR(energy.fromHeaterJ, 0.4 * 900 * 0.95 * 120, 1e-6 * energy.fromHeaterJ);
    EXPECT_LT(energy.closure(), 1e-6);
    EXPECT_GT(energy.storedJ, 0);
    EXPECT_GT(energy.toAmbientJ, 0);
}

TEST(SimulatedPlate, TruthFactorsDriveTheTargetJointApart)
{
    SimulatedPlateOptions nominal;
    nominal.truth = {};
    SimulatedPlate planned(testSheet(), nominal), real(testSheet());
    for (SimulatedPlate* plate : {&planned, &real}) {
        plate->setDuty(0.8);
        advanceReading(*plate, 100);
    }
    const std::string joint = planned.truthNames()[1];
    EXPECT_LT(real.truthC("truth_plate_C"), planned.truthC("truth_plate_C") - 2);
    EXPECT_LT(real.truthC(joint), planned.truthC(joint) - 2);
}

TEST(SimulatedPlate, TruthChannelsArePlateThenJointsThenBodiesOfTheTargets)
{
    BenchSheet sheet = testSheet();
    for (SiteOnBench& site : sheet.sites)
        site.state = site.site == 2 || site.site == 5 ? SiteState::Replace : SiteState::Good;
    SimulatedPlate plate(sheet);
    EXPECT_EQ(plate.truthNames(),
              (std::vector<std::string>{"truth_plate_C", "truth_joint_2_C", "truth_joint_5_C",
                                        "truth_body_2_C", "truth_body_5_C"}));
    const auto reading = plate.read();
    ASSERT_EQ(reading->extraCount, 5);
    for (int i = 0; i < 5; ++i)
        EXPECT_NEAR(reading->extraC[static_cast<size_t>(i)], 25, 1e-9);
    EXPECT_TRUE(std::isnan(plate.truthC("truth_joint_1_C")));
}

TEST(SimulatedPlate, TruthChannelsStopAtWhatAReadingHolds)
{
    BenchSheet sheet = testSheet();
    for (SiteOnBench& site : sheet.sites)
        site.state = SiteState::Replace;
    SimulatedPlate plate(sheet);
    EXPECT_EQ(plate.truthNames().size(), static_cast<size_t>(maxExtraChannels));
    EXPECT_EQ(plate.read()->extraCount, maxExtraChannels);
}

TEST(SimulatedPlate, FanCoolsFaster)
{
    SimulatedPlate still(testSheet()), blown(testSheet());
    for (SimulatedPlate* plate : {&still, &blown}) {
        plate->setDuty(1);
        advanceReading(*plate, 120);
        plate->heaterOff();
    }
    EXPECT_TRUE(blown.setFan(true));
    still.advance(60);
    blown.advance(60);
    EXPECT_LT(blown.truthC("truth_plate_C"), still.truthC("truth_plate_C") - 10);
}

TEST(SimulatedPlate, LiftedStripNoLongerFollowsThePlate)
{
    SimulatedPlate plate(testSheet());
    plate.setDuty(1);
    advanceReading(plate, 150);
    plate.heaterOff();
    const std::string joint = plate.truthNames()[1];
    EXPECT_LT(plate.truthC("truth_plate_C") - plate.truthC(joint), 60);
    EXPECT_TRUE(plate.setStripLifted(true));
    const double jointBefore = plate.truthC(joint), plateBefore = plate.truthC("truth_plate_C");
    plate.advance(60);
    EXPECT_GT(jointBefore - plate.truthC(joint), 2 * (plateBefore - plate.truthC("truth_plate_C")));
}

TEST(SimulatedPlate, RefusesADutyThatIsNoneAndSetsZero)
{
    SimulatedPlate plate(testSheet());
    for (const double bad : {std::nan(""), -0.1, 1.1}) {
        ASSERT_TRUE(plate.setDuty(0.5));
        EXPECT_FALSE(plate.setDuty(bad));
        EXPECT_EQ(plate.dutyCommand(), 0);
        EXPECT_NE(plate.lastError(), "");
    }
    EXPECT_FALSE(plate.setSetpointC(100));
}

// The plate's own watchdog, in plant time.

TEST(SimulatedPlateWatchdog, CutsTheHeaterAfterItsTimeWithoutARequest)
{
    SimulatedPlate plate(testSheet());
    plate.advance(10); // nobody there, no heat: nothing to cut
    EXPECT_FALSE(plate.shown().watchdogTripped);
    plate.setDuty(0.5);
    plate.advance(3.0);
    EXPECT_EQ(plate.dutyApplied(), 0.5);
    plate.advance(0.2);
    EXPECT_EQ(plate.dutyApplied(), 0);
    EXPECT_TRUE(plate.shown().watchdogTripped);
}

TEST(SimulatedPlateWatchdog, IsFedByReadsAndByWrites)
{
    SimulatedPlate read(testSheet()), written(testSheet());
    read.setDuty(0.5);
    for (int i = 0; i < 20; ++i) {
        read.advance(2.9);
        read.read();
        written.advance(2.9);
        written.setDuty(0.5);
    }
    EXPECT_FALSE(read.shown().watchdogTripped);
    EXPECT_FALSE(written.shown().watchdogTripped);
}

TEST(SimulatedPlateWatchdog, KeepsTheCutUntilZeroIsWritten)
{
    SimulatedPlate plate(testSheet());
    plate.setDuty(0.5);
    plate.advance(4);
    plate.read();
    plate.setDuty(0.6);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 0);
    EXPECT_TRUE(plate.read()->watchdogTripped);
    EXPECT_TRUE(plate.heaterOff());
    EXPECT_FALSE(plate.read()->watchdogTripped);
    plate.setDuty(0.6);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 0.6);
}

TEST(SimulatedPlateWatchdog, TakesTheTimeWrittenToItButNeverOff)
{
    SimulatedPlate plate(testSheet());
    for (const double bad : {0.0, 0.4, 61.0, std::nan("")})
        EXPECT_FALSE(plate.setWatchdogSeconds(bad));
    EXPECT_EQ(plate.watchdogSeconds(), 3);
    EXPECT_TRUE(plate.setWatchdogSeconds(1));
    plate.setDuty(1);
    plate.advance(1.2);
    EXPECT_TRUE(plate.shown().watchdogTripped);
}

TEST(SimulatedPlateWatchdog, CutsInSetpointModeUntilTheFloorIsWritten)
{
    SimulatedPlate plate(testSheet(), setpointDrive());
    plate.setSetpointC(200);
    plate.advance(2);
    EXPECT_GT(plate.dutyApplied(), 0);
    plate.advance(2);
    EXPECT_EQ(plate.dutyApplied(), 0);
    plate.setSetpointC(150);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 0);
    plate.heaterOff();
    plate.setSetpointC(150);
    plate.advance(1);
    EXPECT_GT(plate.dutyApplied(), 0);
}

TEST(SimulatedPlateSetpoint, OwnLoopSettlesOnTheSetpointAndStopsAtTheFloor)
{
    SimulatedPlate plate(testSheet(), setpointDrive());
    ASSERT_TRUE(plate.setSetpointC(150));
    double highestC = 0;
    for (int i = 0; i < 3000; ++i) {
        plate.advance(0.2);
        highestC = std::max(highestC, plate.read()->sensorC);
    }
    EXPECT_NEAR(plate.read()->sensorC, 150, 0.5);
    EXPECT_LT(highestC, 165);
    EXPECT_EQ(plate.read()->setpointC, 150);
    EXPECT_GT(plate.read()->duty.value(), 0.05);
    ASSERT_TRUE(plate.heaterOff());
    plate.advance(0.2);
    EXPECT_EQ(plate.dutyApplied(), 0);
    EXPECT_FALSE(plate.setDuty(0.5));
    EXPECT_FALSE(plate.setSetpointC(std::nan("")));
}

// Named faults.

TEST(SimulatedPlateFault, HasANameEach)
{
    EXPECT_EQ(faultNames().size(), 27u);
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::SensorOpen)], "sensor-open");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::OverTemperature)], "over-temperature");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::CounterStuck)], "counter-stuck");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::EnableWelded)], "enable-welded");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::JunkBytes)], "junk-bytes");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::SensorDetached)], "sensor-detached");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::ForeignMaster)], "foreign-master");
    EXPECT_EQ(faultNames()[static_cast<size_t>(Fault::Unplugged)], "unplugged");
}

TEST(SimulatedPlateFault, StartsAtItsPlantSecond)
{
    SimulatedPlate plate(testSheet(), with(Fault::SensorOpen, 5));
    plate.advance(4.95);
    EXPECT_FALSE(plate.read()->sensorFault);
    plate.advance(0.05);
    EXPECT_TRUE(plate.read()->sensorFault);
}

TEST(SimulatedPlateFault, StuckSensorStandsWhileTheCounterGoesOn)
{
    SimulatedPlate plate(testSheet(), with(Fault::SensorStuck, 10));
    plate.setDuty(1);
    advanceReading(plate, 10);
    const PlateReading before = plate.shown();
    advanceReading(plate, 20);
    EXPECT_EQ(plate.shown().sensorC, before.sensorC);
    EXPECT_NE(plate.shown().counter, before.counter);
    EXPECT_GT(plate.truthC("truth_plate_C"), before.sensorC + 10);
}

TEST(SimulatedPlateFault, StuckCounterStandsWhileTheSensorGoesOn)
{
    SimulatedPlate plate(testSheet(), with(Fault::CounterStuck, 10));
    plate.setDuty(1);
    advanceReading(plate, 10);
    const PlateReading before = plate.shown();
    advanceReading(plate, 20);
    EXPECT_EQ(plate.shown().counter, before.counter);
    EXPECT_GT(plate.shown().sensorC, before.sensorC + 5);
}

TEST(SimulatedPlateFault, SilentPlateAnswersNothingAndItsWatchdogCuts)
{
    SimulatedPlate plate(testSheet(), with(Fault::Silent, 10));
    plate.setDuty(1);
    advanceReading(plate, 9.8);
    plate.advance(0.2);
    EXPECT_FALSE(plate.read());
    EXPECT_FALSE(plate.heaterOff());
    EXPECT_NE(plate.lastError(), "");
    EXPECT_EQ(plate.dutyApplied(), 1);
    advanceReading(plate, 3.2);
    EXPECT_EQ(plate.dutyApplied(), 0);
}

TEST(SimulatedPlateFault, OpenHeaterGivesNoHeat)
{
    SimulatedPlate plate(testSheet(), with(Fault::HeaterOpen));
    plate.setDuty(1);
    advanceReading(plate, 30);
    EXPECT_EQ(plate.energy().fromHeaterJ, 0);
    EXPECT_EQ(plate.read()->duty, 1);
}

TEST(SimulatedPlateFault, WeldedRelayHeatsPastZeroAndPastTheWatchdog)
{
    SimulatedPlate plate(testSheet(), with(Fault::RelayWelded, 5));
    plate.setDuty(0.1);
    advanceReading(plate, 5);
    EXPECT_TRUE(plate.heaterOff());
    plate.advance(20);
    EXPECT_EQ(plate.dutyApplied(), 1);
    EXPECT_GT(plate.truthC("truth_plate_C"), 35);
}

TEST(SimulatedPlateFault, OverTemperatureIsFullHeatUntilZeroIsWritten)
{
    SimulatedPlate plate(testSheet(), with(Fault::OverTemperature, 5));
    plate.setDuty(0.1);
    advanceReading(plate, 5.2);
    EXPECT_EQ(plate.dutyApplied(), 1);
    EXPECT_TRUE(plate.heaterOff());
    plate.advance(0.2);
    EXPECT_EQ(plate.dutyApplied(), 0);
}

TEST(SimulatedPlateFault, IgnoredWriteIsNotConfirmedAndChangesNothing)
{
    SimulatedPlate plate(testSheet(), with(Fault::WriteIgnored, 5));
    plate.setDuty(0.4);
    advanceReading(plate, 5);
    EXPECT_FALSE(plate.heaterOff());
    EXPECT_FALSE(plate.setFan(true));
    EXPECT_EQ(plate.read()->duty, 0.4);
    EXPECT_TRUE(plate.setDuty(0.4)); // reads back equal
}

} // namespace
