#include "bench/simulated_plate.h"
#include "bench/thermocouple.h"
#include "test_sheet.h"

#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

Plant plantOf(const std::string& members)
{
    return readPlant(R"({"format": "stripwright-plant", "version": 1)" + members + "}", "my.plant.json");
}

void advanceReading(SimulatedPlate& plate, double seconds)
{
    for (double t = 0; t < seconds - 1e-9; t += 0.2) {
        plate.advance(0.2);
        plate.read();
    }
}

TEST(PlantFile, AbsentKeysAreThePlateAsItComes)
{
    const Plant plant = plantOf(""), asItComes;
    EXPECT_EQ(plant.truth.contact, asItComes.truth.contact);
    EXPECT_EQ(plant.truth.losses, asItComes.truth.losses);
    EXPECT_EQ(plant.truth.power, asItComes.truth.power);
    EXPECT_EQ(plant.noiseK, asItComes.noiseK);
    EXPECT_FALSE(plant.deadTimeS);
}

TEST(PlantFile, SaysEveryFigure)
{
    const Plant plant = plantOf(R"(, "power_factor": 0.8, "heat_capacity_factor": 1.2, "loss_factor": 1.3,
        "contact_factor": 0.4, "element_lag_s": 9, "sensor_lag_s": 8, "dead_time_s": 2, "reading_step_K": 0.5,
        "reading_noise_K": 0.2, "sensor_offset_K": -3, "reading_every_s": 1.5,
        "own_loop_gain_per_K": 0.03, "own_loop_integral_s": 77, "own_loop_derivative_s": 6,
        "own_loop_most_duty": 0.8, "own_loop_every_s": 0.5, "own_ramp_C_per_s": 0.25, "output_window_s": 2,
        "least_on_s": 3, "watchdog_bit": "latches")");
    EXPECT_EQ(plant.truth.power, 0.8);
    EXPECT_EQ(plant.heatCapacityFactor, 1.2);
    EXPECT_EQ(plant.truth.losses, 1.3);
    EXPECT_EQ(plant.truth.contact, 0.4);
    EXPECT_EQ(plant.elementLagS, 9);
    EXPECT_EQ(plant.sensorLagS, 8);
    EXPECT_EQ(plant.deadTimeS, 2);
    EXPECT_EQ(plant.readingStepK, 0.5);
    EXPECT_EQ(plant.noiseK, 0.2);
    EXPECT_EQ(plant.sensorOffsetK, -3);
    EXPECT_EQ(plant.readingEveryS, 1.5);
    EXPECT_EQ(plant.ownLoopGainPerK, 0.03);
    EXPECT_EQ(plant.ownLoopIntegralS, 77);
    EXPECT_EQ(plant.ownLoopDerivativeS, 6);
    EXPECT_EQ(plant.ownLoopMostDuty, 0.8);
    EXPECT_EQ(plant.ownLoopEveryS, 0.5);
    EXPECT_EQ(plant.ownRampCPerS, 0.25);
    EXPECT_EQ(plant.outputWindowS, 2);
    EXPECT_EQ(plant.leastOnS, 3);
    EXPECT_EQ(plant.watchdogBit, WatchdogBit::Latches);
    EXPECT_EQ(plantOf(R"(, "own_loop_gain_factor": 2.5)").ownLoopGain, 2.5);
    EXPECT_EQ(plantOf(R"(, "watchdog_bit": "none")").watchdogBit, WatchdogBit::None);
}

TEST(PlantFile, EveryKeyIsExplained)
{
    for (const char* key : {"own_loop_gain_per_K", "own_loop_integral_s", "own_loop_derivative_s",
                            "own_loop_most_duty", "own_loop_every_s", "own_ramp_C_per_s", "output_window_s",
                            "least_on_s", "reading_every_s", "watchdog_bit"})
        EXPECT_THAT(plantFileText(), testing::HasSubstr(key));
}

TEST(PlantFile, GainIsSaidOneWayOnly)
{
    try {
        plantOf(R"(, "own_loop_gain_per_K": 0.02, "own_loop_gain_factor": 2)");
        FAIL();
    } catch (const BadInput& bad) {
        ASSERT_EQ(bad.problems().size(), 1u);
        EXPECT_THAT(bad.problems()[0].text(), testing::HasSubstr("/own_loop_gain_factor: found 2"));
    }
}

TEST(PlantFile, TellsAllItsProblemsAtOnce)
{
    try {
        plantOf(R"(, "power_factor": 0, "dead_time_s": "2", "colour": "red")");
        FAIL();
    } catch (const BadInput& bad) {
        ASSERT_EQ(bad.problems().size(), 3u);
        EXPECT_THAT(bad.problems()[0].text(), testing::HasSubstr("my.plant.json: /power_factor: found 0"));
    }
    EXPECT_THROW(readPlant(R"({"format": "stripwright-plate-link", "version": 1})", "x"), BadInput);
}

// The heater's first seconds go into the plate alone: dT/dt = P / C.
TEST(Plant, PlateOfTwiceTheHeatCapacityWarmsHalfAsFast)
{
    SimulatedPlateOptions heavy;
    heavy.heatCapacityFactor = 2;
    heavy.bare = true;
    SimulatedPlateOptions usual;
    usual.bare = true;
    BenchSheet sheet = testSheet();
    sheet.plate.elementLagS = 0;
    SimulatedPlate first(sheet, usual), second(sheet, heavy);
    for (SimulatedPlate* plate : {&first, &second}) {
        plate->setDuty(1);
        advanceReading(*plate, 10);
    }
    const double ratio = (first.truthC("truth_plate_C") - 25) / (second.truthC("truth_plate_C") - 25);
    EXPECT_NEAR(ratio, 2, 0.05);
}

TEST(Plant, ReadingHasItsOffsetAndItsSteps)
{
    SimulatedPlateOptions options;
    options.noiseK = 0;
    options.sensorOffsetK = 4.2;
    options.readingStepK = 0.5;
    EXPECT_EQ(SimulatedPlate(testSheet(), options).shown().sensorC, 29.0);
}

TEST(Plant, DeadTimeIsThePlantsNotTheSheets)
{
    SimulatedPlateOptions options;
    options.noiseK = 0;
    options.deadTimeS = 10;
    SimulatedPlate plate(testSheet(), options);
    plate.setDuty(1);
    advanceReading(plate, 10);
    EXPECT_EQ(plate.shown().sensorC, 25);
    advanceReading(plate, 5);
    EXPECT_GT(plate.shown().sensorC, 25.3);
}

TEST(Plant, OwnLoopWithTwiceTheGainPushesTwiceAsHard)
{
    double duties[2];
    for (int i = 0; i < 2; ++i) {
        SimulatedPlateOptions options;
        options.drive = DriveKind::Setpoint;
        options.noiseK = 0;
        options.ownLoopGain = i + 1;
        SimulatedPlate plate(testSheet(), options);
        plate.setSetpointC(26);
        plate.advance(0.15);
        duties[i] = plate.dutyApplied();
    }
    ASSERT_GT(duties[0], 0);
    ASSERT_LT(duties[1], 1);
    EXPECT_NEAR(duties[1] / duties[0], 2, 1e-9);
}

TEST(Plant, ReadingAndCounterAreRefreshedOnlyAsOftenAsThePlantSays)
{
    SimulatedPlateOptions options;
    options.readingEveryS = 1;
    SimulatedPlate plate(testSheet(), options);
    plate.setDuty(1);
    advanceReading(plate, 20.2); // 0.2 s after a refresh
    int fresh = 0;
    for (int i = 0; i < 100; ++i) {
        const PlateReading before = plate.shown();
        advanceReading(plate, 0.2);
        const PlateReading after = plate.shown();
        EXPECT_EQ(before.counter != after.counter, i % 5 == 3) << i;
        if (before.counter == after.counter) {
            EXPECT_EQ(before.sensorC, after.sensorC);
        }
        fresh += before.sensorC != after.sensorC;
    }
    EXPECT_EQ(fresh, 20);
}

TEST(Plant, WindowSwitchesTheHeaterButThePlateTellsTheShare)
{
    SimulatedPlateOptions options;
    options.drive = DriveKind::Setpoint;
    options.outputWindowS = 1;
    options.noiseK = 0;
    SimulatedPlate plate(testSheet(), options);
    plate.setSetpointC(30);
    plate.advance(0.2); // its loop's first sample
    double on = 0, told = 0;
    int mixed = 0;
    for (int i = 0; i < 60; ++i) {
        plate.advance(0.05);
        plate.read();
        const double applied = plate.dutyApplied();
        mixed += applied > 0 && applied < 1;
        EXPECT_GT(*plate.shown().duty, 0.1);
        EXPECT_LT(*plate.shown().duty, 0.9);
        on += applied;
        told += *plate.shown().duty;
    }
    EXPECT_LE(mixed, 4) << "one step a window at most";
    EXPECT_NEAR(on / 60, told / 60, 0.05);
}

TEST(Plant, RelayThatStandsIsCutAtOnceByItsEnableOutput)
{
    SimulatedPlateOptions options;
    options.leastOnS = 10;
    options.hasEnable = true;
    SimulatedPlate plate(testSheet(), options);
    plate.setEnable(true);
    plate.setDuty(1);
    plate.advance(1);
    plate.setDuty(0);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 1);
    plate.setEnable(false);
    plate.advance(0.05);
    EXPECT_EQ(plate.dutyApplied(), 0);
}

TEST(Plant, OwnRampLeadsTheLoopFromTheReadingOn)
{
    SimulatedPlateOptions options;
    options.drive = DriveKind::Setpoint;
    options.noiseK = 0;
    options.ownLoopGainPerK = 0.01;
    options.ownLoopIntegralS = 1e5;
    options.ownRampCPerS = 2;
    options.deadTimeS = 20; // nothing moves the reading meanwhile
    options.hasEnable = true;
    SimulatedPlate plate(testSheet(), options);
    plate.setEnable(true);
    const auto dutyAfter = [&](double seconds) {
        advanceReading(plate, seconds);
        return plate.dutyApplied();
    };
    plate.setSetpointC(200);
    EXPECT_NEAR(dutyAfter(2.05), 0.01 * 2 * 2, 0.004);
    EXPECT_NEAR(dutyAfter(2), 0.01 * 2 * 4, 0.004);
    ASSERT_TRUE(plate.setOwnRampCPerS(0)) << "switched off";
    EXPECT_EQ(dutyAfter(0.2), 1);
    plate.setOwnRampCPerS(2);
    plate.setSetpointC(0);
    EXPECT_GT(dutyAfter(1), 0.9) << "told to be off it comes down by its ramp";
    plate.setEnable(false);
    EXPECT_EQ(dutyAfter(1), 0);
    plate.setEnable(true);
    plate.setSetpointC(200);
    EXPECT_NEAR(dutyAfter(2), 0.01 * 2 * 2, 0.004) << "begun anew from the reading";
    EXPECT_FALSE(plate.setOwnRampCPerS(-1));
}

SimulatedPlate cutPlate(WatchdogBit bit, bool hasEnable)
{
    SimulatedPlateOptions options;
    options.watchdogBit = bit;
    options.hasEnable = hasEnable;
    return SimulatedPlate(testSheet(), options);
}

void cut(SimulatedPlate& plate)
{
    plate.setEnable(true);
    plate.setDuty(0.5);
    plate.advance(4);
    ASSERT_EQ(plate.dutyApplied(), 0);
}

TEST(WatchdogBit, ClearsWithTheCut)
{
    SimulatedPlate plate = cutPlate(WatchdogBit::Clears, false);
    cut(plate);
    EXPECT_TRUE(plate.read()->watchdogTripped);
    plate.setDuty(0);
    EXPECT_FALSE(plate.read()->watchdogTripped);
}

TEST(WatchdogBit, ThatLatchesStaysUntilHeatIsEnabledAgain)
{
    SimulatedPlate plate = cutPlate(WatchdogBit::Latches, false);
    cut(plate);
    plate.setDuty(0.5);
    EXPECT_TRUE(plate.read()->watchdogTripped) << "the cut stands";
    plate.setDuty(0);
    plate.advance(1);
    EXPECT_TRUE(plate.read()->watchdogTripped);
    plate.setDuty(0.5);
    EXPECT_FALSE(plate.read()->watchdogTripped);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 0.5);
}

TEST(WatchdogBit, ThatLatchesWaitsForTheEnableOutputWhereThereIsOne)
{
    SimulatedPlate plate = cutPlate(WatchdogBit::Latches, true);
    cut(plate);
    plate.setDuty(0);
    plate.setDuty(0.5);
    EXPECT_TRUE(plate.read()->watchdogTripped);
    plate.setEnable(true);
    EXPECT_FALSE(plate.read()->watchdogTripped);
}

TEST(WatchdogBit, MayNotBeThereThoughTheWatchdogCuts)
{
    SimulatedPlate plate = cutPlate(WatchdogBit::None, false);
    cut(plate);
    EXPECT_FALSE(plate.read()->watchdogTripped);
}

// First order: 1 - 1/e of a step after one lag.
TEST(Thermocouple, FollowsAStepWithItsLagAfterItsDeadTime)
{
    Thermocouple one({.deadTimeS = 0.5, .lagS = 1, .noiseK = 0, .stepK = 0.001}, 0.05, 20, 1);
    for (int i = 0; i < 10; ++i)
        one.advance(120);
    EXPECT_EQ(one.sample(), 20);
    for (int i = 0; i < 20; ++i)
        one.advance(120);
    EXPECT_NEAR(one.sample(), 20 + 100 * (1 - std::exp(-1)), 0.001);
}

SimulatedPlateOptions withStripSensor(bool bare)
{
    SimulatedPlateOptions options;
    options.stripSensor = true;
    options.bare = bare;
    return options;
}

TEST(StripSensor, ReadsTheCoreBelowTheFirstTargetsPadsASecondLate)
{
    const BenchSheet sheet = testSheet();
    const SimulatedPlateOptions options = withStripSensor(false);
    SimulatedPlate plate(sheet, options);
    PoweredPlate same(sheet, options.truth, options.cellMm);
    const StationId core{StationKind::Dielectric, sheet.targets().front()};
    plate.setDuty(1);
    double laggedC = 25;
    for (int i = 0; i < 3000; ++i) {
        plate.advance(0.05);
        plate.read();
        same.advance(0.05, 1);
        laggedC += (1 - std::exp(-0.05)) * (same.stationC(core) - laggedC);
    }
    const double stripC = plate.read()->stripC.value();
    EXPECT_NEAR(stripC, laggedC, 0.05 + 4 * 0.05); // steps, noise
    EXPECT_LT(stripC, same.plateC());
    EXPECT_NEAR(stripC * 10, std::round(stripC * 10), 1e-9);
}

TEST(StripSensor, HangsInTheAirOverABarePlateAndMayBeOpen)
{
    SimulatedPlateOptions options = withStripSensor(true);
    SimulatedPlate bare(testSheet(), options);
    bare.setDuty(1);
    advanceReading(bare, 60);
    EXPECT_NEAR(bare.read()->stripC.value(), 25, 0.3);
    options.faults = {{Fault::StripSensorOpen}};
    EXPECT_FALSE(SimulatedPlate(testSheet(), options).read()->stripC);
    EXPECT_FALSE(SimulatedPlate(testSheet()).read()->stripC);
}

TEST(BarePlate, TellsOfNoStripAndWarmsFaster)
{
    SimulatedPlateOptions options;
    options.bare = true;
    SimulatedPlate bare(testSheet(), options), laden(testSheet());
    EXPECT_EQ(bare.truthNames(), std::vector<std::string>{"truth_plate_C"});
    for (SimulatedPlate* plate : {&bare, &laden}) {
        plate->setDuty(1);
        advanceReading(*plate, 120);
    }
    EXPECT_GT(bare.truthC("truth_plate_C"), laden.truthC("truth_plate_C") + 1);
    EXPECT_LT(bare.energy().closure(), 1e-6);
}

TEST(BarePlate, HandsCannotLayDownWhatIsNotThere)
{
    SimulatedPlateOptions options;
    options.bare = true;
    SimulatedPlate touched(testSheet(), options), left(testSheet(), options);
    touched.setStripLifted(true);
    touched.setStripLifted(false);
    for (SimulatedPlate* plate : {&touched, &left}) {
        plate->setDuty(1);
        advanceReading(*plate, 60);
    }
    EXPECT_EQ(touched.truthC("truth_plate_C"), left.truthC("truth_plate_C"));
}

SimulatedPlateOptions withEnable(std::vector<TimedFault> faults = {})
{
    SimulatedPlateOptions options;
    options.hasEnable = true;
    options.faults = std::move(faults);
    return options;
}

TEST(EnableOutput, IsOffAtFirstAndTakesThePowerWhateverTheDuty)
{
    SimulatedPlate plate(testSheet(), withEnable());
    EXPECT_TRUE(plate.hasEnable());
    EXPECT_EQ(plate.read()->enabled, false);
    plate.setDuty(1);
    advanceReading(plate, 1);
    EXPECT_EQ(plate.dutyApplied(), 0);
    EXPECT_TRUE(plate.setEnable(true));
    advanceReading(plate, 1);
    EXPECT_EQ(plate.read()->enabled, true);
    EXPECT_EQ(plate.dutyApplied(), 1);
    EXPECT_TRUE(plate.heaterOff());
    EXPECT_FALSE(plate.enabled());
    EXPECT_EQ(plate.dutyCommand(), 0);
}

TEST(EnableOutput, EndsTheHeatOfAWeldedRelay)
{
    SimulatedPlate plate(testSheet(), withEnable({{Fault::RelayWelded}}));
    plate.setEnable(true);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 1);
    plate.setEnable(false);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 0);
}

TEST(EnableOutput, WeldedItselfReadsOffAndHeatsOn)
{
    SimulatedPlate plate(testSheet(), withEnable({{Fault::EnableWelded}}));
    plate.setDuty(1);
    plate.advance(1);
    EXPECT_EQ(plate.read()->enabled, false);
    EXPECT_EQ(plate.dutyApplied(), 1);
}

TEST(EnableOutput, FallsWithTheWatchdogAndStaysOffWhenZeroIsWritten)
{
    SimulatedPlate plate(testSheet(), withEnable());
    plate.setEnable(true);
    plate.setDuty(0.5);
    plate.advance(4);
    EXPECT_FALSE(plate.enabled());
    plate.setDuty(0);
    plate.setDuty(0.5);
    plate.advance(1);
    EXPECT_EQ(plate.dutyApplied(), 0);
}

TEST(EnableOutput, IsNotThereUnlessAskedFor)
{
    SimulatedPlate plate(testSheet());
    EXPECT_FALSE(plate.hasEnable());
    EXPECT_TRUE(plate.setEnable(true));
    EXPECT_FALSE(plate.read()->enabled);
}

} // namespace
