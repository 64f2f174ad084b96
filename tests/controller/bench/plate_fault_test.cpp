#include "bench/simulated_plate.h"
#include "test_sheet.h"

#include <cmath>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

SimulatedPlateOptions with(TimedFault fault)
{
    SimulatedPlateOptions options;
    options.truth = {1, 1, 1};
    options.faults = {fault};
    return options;
}

void heat(SimulatedPlate& plate, double duty, double seconds)
{
    for (double t = 0; t < seconds - 1e-9; t += 0.2) {
        plate.setDuty(duty);
        plate.advance(0.2);
    }
}

double plateC(const SimulatedPlate& plate)
{
    return plate.truthC("truth_plate_C");
}

TEST(PlateFault, IsReadWithValueBeginningAndEnd)
{
    const TimedFault draught = readFault("draught=80@30..45.5");
    EXPECT_EQ(draught.fault, Fault::Draught);
    EXPECT_EQ(draught.value, 80);
    EXPECT_EQ(draught.fromS, 30);
    EXPECT_EQ(draught.untilS, 45.5);
    EXPECT_EQ(readFault("draught@30").untilS, 90) << "a draught lasts a minute";
    EXPECT_EQ(readFault("silent@30").untilS, INFINITY);
    EXPECT_EQ(readFault("exceptions=0B").value, 11);
    EXPECT_EQ(readFault("reboot=3@10").untilS, 13);
    for (const char* bad : {"exceptions=0C", "exceptions=00", "mains=x", "bit-errors=1.1", "silent@5..4",
                            "draught@5..", "half-power=2", "spike=nan"})
        EXPECT_THROW(readFault(bad), std::invalid_argument) << bad;
}

TEST(PlateFault, EndsAtItsEnd)
{
    SimulatedPlate plate(testSheet(), with({Fault::SensorOpen, 1, 1, 2}));
    plate.advance(1.5);
    EXPECT_TRUE(plate.shown().sensorFault);
    plate.advance(0.5);
    EXPECT_FALSE(plate.shown().sensorFault);
}

// After a minute 1/e of the difference is left.
TEST(PlateFault, DetachedSensorDriftsToAmbientWithALagOfAMinute)
{
    SimulatedPlate plate(testSheet(), with({Fault::SensorDetached, 100}));
    heat(plate, 0.8, 100);
    const double aboveK = plate.shown().sensorC - 25;
    ASSERT_GT(aboveK, 50);
    heat(plate, 0.8, 60);
    EXPECT_NEAR(plate.shown().sensorC - 25, aboveK / std::exp(1), 0.5);
    EXPECT_GT(plateC(plate), 25 + aboveK);
}

TEST(PlateFault, ShortedSensorReadsAmbientWithItsNoise)
{
    SimulatedPlate plate(testSheet(), with({Fault::SensorShort, 60}));
    heat(plate, 1, 60);
    double lowest = 1000, highest = -1000;
    for (int i = 0; i < 200; ++i) {
        plate.advance(0.1);
        plate.read();
        lowest = std::min(lowest, plate.shown().sensorC);
        highest = std::max(highest, plate.shown().sensorC);
    }
    EXPECT_NEAR(lowest, 25, 0.5);
    EXPECT_NEAR(highest, 25, 0.5);
    EXPECT_GT(highest, lowest) << "it does not stand still";
}

TEST(PlateFault, SpikeIsOneSample)
{
    SimulatedPlate plate(testSheet(), with({Fault::Spike, 5, 50}));
    int high = 0;
    for (int i = 0; i < 200; ++i) {
        plate.advance(0.1);
        high += plate.shown().sensorC > 60;
    }
    EXPECT_EQ(high, 1);
}

// Without heat: what is taken from the plate is missing in it.
TEST(PlateFault, DraughtTakesItsWattsFromThePlate)
{
    SimulatedPlate still(testSheet(), with({Fault::Silent, 1e5})),
        blown(testSheet(), with({Fault::Draught, 100, 120, 110}));
    heat(still, 0.8, 100);
    heat(blown, 0.8, 100);
    ASSERT_NEAR(plateC(still), plateC(blown), 1e-6);
    still.advance(10);
    blown.advance(10);
    // 1200 J out of 700 J/K, less what the strip gives back and the losses save.
    EXPECT_NEAR(plateC(still) - plateC(blown), 1200 / 700.0, 0.15);
    const double apartK = plateC(still) - plateC(blown);
    still.advance(10);
    blown.advance(10);
    EXPECT_LE(plateC(still) - plateC(blown), apartK) << "it has ended";
}

TEST(PlateFault, ColdBoardTakesTheHeatThatWarmsIt)
{
    SimulatedPlate bare(testSheet(), with({Fault::Silent, 1e5})),
        laid(testSheet(), with({Fault::ColdBoard, 100, 30}));
    heat(bare, 0.8, 100);
    heat(laid, 0.8, 100);
    bare.advance(40);
    laid.advance(40);
    // It takes 30 J/K from 5 °C to nearly the plate's temperature; plate and strip share the loss.
    const double lostJ = 30 * (plateC(laid) - 5) * (1 - std::exp(-40 / 12.5));
    EXPECT_NEAR(plateC(bare) - plateC(laid), lostJ / 725, 0.12 * lostJ / 725);
}

TEST(PlateFault, MainsActByTheSquareOfTheirVoltage)
{
    SimulatedPlate full(testSheet(), with({Fault::Silent, 1e5})), half(testSheet(), with({Fault::HalfPower})),
        low(testSheet(), with({Fault::Mains, 0, 0.8})), high(testSheet(), with({Fault::Mains, 0, 1.1}));
    for (SimulatedPlate* plate : {&full, &half, &low, &high})
        heat(*plate, 1, 20);
    const double givenJ = full.energy().fromHeaterJ;
    EXPECT_NEAR(half.energy().fromHeaterJ, 0.5 * givenJ, 1e-6 * givenJ);
    EXPECT_NEAR(low.energy().fromHeaterJ, 0.64 * givenJ, 1e-6 * givenJ);
    EXPECT_NEAR(high.energy().fromHeaterJ, 1.21 * givenJ, 1e-6 * givenJ);
    EXPECT_EQ(low.shown().duty, 1);
}

TEST(PlateFault, RebootForgetsWhatWasWrittenAndIsUnreachableMeanwhile)
{
    TimedFault reboot = readFault("reboot=2@10");
    SimulatedPlate plate(testSheet(), with(reboot));
    plate.setWatchdogSeconds(30);
    heat(plate, 0.7, 10);
    const unsigned counterBefore = plate.shown().counter.value();
    plate.setFan(true);
    plate.advance(0.1);
    EXPECT_EQ(plate.dutyCommand(), 0);
    EXPECT_EQ(plate.dutyApplied(), 0);
    EXPECT_FALSE(plate.fanOn());
    EXPECT_EQ(plate.watchdogSeconds(), 3);
    EXPECT_LT(plate.shown().counter.value(), counterBefore);
    EXPECT_FALSE(plate.read());
    EXPECT_FALSE(plate.setDuty(0.7));
    plate.advance(2);
    EXPECT_TRUE(plate.read());
    EXPECT_TRUE(plate.setDuty(0.7));
    plate.advance(1);
    EXPECT_EQ(plate.dutyCommand(), 0.7) << "once";
}

TEST(PlateFault, ForeignMasterWritesFullHeatEverySecond)
{
    SimulatedPlate plate(testSheet(), with({Fault::ForeignMaster, 5}));
    plate.advance(5);
    plate.heaterOff();
    int taken = 0;
    for (int i = 0; i < 50; ++i) {
        plate.advance(0.2);
        taken += plate.dutyCommand() == 1;
        plate.heaterOff();
    }
    EXPECT_EQ(taken, 10);

    SimulatedPlateOptions options = with({Fault::ForeignMaster});
    options.drive = DriveKind::Setpoint;
    SimulatedPlate driven(testSheet(), options);
    driven.advance(0.1);
    EXPECT_EQ(driven.setpointC(), SimulatedPlate::setpointMaxC);
}

TEST(PlateFault, ComesWhileThePlateIsAtWork)
{
    SimulatedPlate plate(testSheet());
    plate.advance(10);
    plate.addFault(readFault("silent@2..4"));
    EXPECT_TRUE(plate.read());
    plate.advance(2);
    EXPECT_FALSE(plate.read());
    plate.advance(2);
    EXPECT_TRUE(plate.read());
}

TEST(PlateWithoutWatchdog, HeatsOnWhenNobodyAsksAnyMore)
{
    SimulatedPlateOptions options;
    options.hasWatchdog = false;
    SimulatedPlate plate(testSheet(), options);
    plate.setDuty(0.5);
    plate.advance(100);
    EXPECT_EQ(plate.dutyApplied(), 0.5);
    EXPECT_FALSE(plate.shown().watchdogTripped);
}

} // namespace
