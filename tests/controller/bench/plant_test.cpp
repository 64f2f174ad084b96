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
        "reading_noise_K": 0.2, "sensor_offset_K": -3, "own_loop_gain_factor": 2.5)");
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
    EXPECT_EQ(plant.ownLoopGain, 2.5);
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
