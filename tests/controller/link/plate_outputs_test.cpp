#include "link/plate_link.h"
#include "test_device.h"

#include <chrono>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::HasSubstr;
using enum RegisterTable;

namespace {

RegisterField field(RegisterTable table, int address, double scale = 1)
{
    return {.table = table, .address = address, .type = RegisterType::Uint16, .scale = scale};
}

class PlateOutputs : public testing::Test {
protected:
    PlateOutputs()
    {
        link.name = "plate with outputs";
        link.host = "127.0.0.1";
        link.port = device.port();
        link.sensor = field(Input, 0, 0.1);
        link.status = field(Input, 1);
        link.watchdogTrippedMask = 8;
        link.stripSensorFaultMask = 16;
        link.duty = field(Holding, 10, 0.001);
        link.enable = field(Coil, 5);
        link.stripSensor = field(Input, 2, 0.1);
        link.noSensorRaw = {32767};
    }
    std::unique_ptr<Plate> open() { return openPlate(link, 1.0, 0.1); }
    void set(std::uint16_t* modbus_mapping_t::*table, int address, int value)
    {
        device.with(
            [&](modbus_mapping_t& map) { (map.*table)[address] = static_cast<std::uint16_t>(value); });
    }
    void setInput(int address, int value) { set(&modbus_mapping_t::tab_input_registers, address, value); }
    void setHolding(int address, int value) { set(&modbus_mapping_t::tab_registers, address, value); }
    int holding(int address)
    {
        return device.with([&](modbus_mapping_t& map) { return int(map.tab_registers[address]); });
    }
    int coil(int address)
    {
        return device.with([&](modbus_mapping_t& map) { return int(map.tab_bits[address]); });
    }

    TestDevice device;
    PlateLink link;
};

TEST_F(PlateOutputs, EnableIsSwitchedAndReadBack)
{
    const auto plate = open();
    EXPECT_TRUE(plate->hasEnable());
    EXPECT_EQ(plate->read()->enabled, false);
    ASSERT_TRUE(plate->setEnable(true)) << plate->lastError();
    EXPECT_EQ(coil(5), 1);
    EXPECT_EQ(plate->read()->enabled, true);
    device.ignoresWrites = true;
    EXPECT_FALSE(plate->setEnable(false));
    device.ignoresWrites = false;
    EXPECT_TRUE(plate->setEnable(false));
    EXPECT_EQ(coil(5), 0);
}

TEST_F(PlateOutputs, DutyThatStandsStillIsNeverWrittenTwiceAlikeSoThatAPlateThatDoesNothingShowsAtOnce)
{
    const auto plate = open();
    for (int n = 0; n < 4; ++n) {
        ASSERT_TRUE(plate->read() && plate->setDuty(0.5)) << plate->lastError();
        EXPECT_EQ(holding(10), n % 2 == 0 ? 500 : 499);
    }
    device.ignoresWrites = true;
    for (int n = 0; n < 4; ++n) {
        ASSERT_TRUE(plate->read());
        EXPECT_FALSE(plate->setDuty(0.5));
        EXPECT_FALSE(plate->silent()) << "it answers";
    }
    device.ignoresWrites = false;
    ASSERT_TRUE(plate->read() && plate->setDuty(0.001));
    ASSERT_TRUE(plate->read() && plate->setDuty(0.001)) << "never down to nothing";
    EXPECT_EQ(holding(10), 1);
}

TEST_F(PlateOutputs, AnswerThatIsNoneIsAskedForOnceMoreInTheSameCycle)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read());
    EXPECT_EQ(plate->failedShare(), 0);
    device.wrongTransactions = 2;
    EXPECT_TRUE(plate->read()) << plate->lastError();
    EXPECT_NEAR(plate->failedShare(), 0.1, 1e-9);
    device.wrongTransactions = 3;
    EXPECT_FALSE(plate->read());
    device.silent = true;
    const auto began = std::chrono::steady_clock::now();
    EXPECT_FALSE(plate->read());
    EXPECT_LT(std::chrono::steady_clock::now() - began, std::chrono::milliseconds(190))
        << "silence is waited for once";
}

TEST_F(PlateOutputs, WhatDrivesTheHeaterStandsAsWrittenAlsoWhereTheAnswerWasLostOrASwitchIsOff)
{
    link.duty = field(Coil, 6);
    const auto plate = open();
    EXPECT_FALSE(plate->read()->asWritten) << "nothing was written yet";
    bool wasOn = false, wasOff = false;
    for (int n = 0; n < 10; ++n) {
        ASSERT_TRUE(plate->setDuty(0.4));
        const auto reading = plate->read();
        EXPECT_EQ(reading->asWritten, true);
        wasOn = wasOn || *reading->duty > 0;
        wasOff = wasOff || *reading->duty == 0;
    }
    EXPECT_TRUE(wasOn && wasOff);
    device.ignoresWrites = true;
    bool missed = false;
    for (int n = 0; n < 4; ++n) {
        plate->setDuty(0.4);
        missed = missed || plate->read()->asWritten == false;
    }
    EXPECT_TRUE(missed);
}

TEST_F(PlateOutputs, WatchdogBitIsClearedByTheValueThatTheLinkSays)
{
    EXPECT_FALSE(open()->canClearWatchdog());
    link.clearWatchdog.emplace(CommandField{field(Holding, 30), 170});
    const auto plate = open();
    ASSERT_TRUE(plate->canClearWatchdog());
    EXPECT_EQ(holding(30), 0) << "not before it is told to";
    device.ignoresWrites = true;
    EXPECT_TRUE(plate->clearWatchdog()) << "what it reads as afterwards is the plate's affair";
    device.ignoresWrites = false;
    ASSERT_TRUE(plate->clearWatchdog()) << plate->lastError();
    EXPECT_EQ(holding(30), 170);
    device.exception = 2;
    EXPECT_FALSE(plate->clearWatchdog());
}

TEST_F(PlateOutputs, WatchdogBitExcusesAChangedDutyOnlyIfItCameAfterIt)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read() && plate->setDuty(0.5));
    setInput(1, 8); // cut, and its duty forgotten
    setHolding(10, 0);
    EXPECT_FALSE(plate->read()->foreignWrite);
    ASSERT_TRUE(plate->setDuty(0.5)); // over a bit that stands
    EXPECT_FALSE(plate->read()->foreignWrite);
    setHolding(10, 700);
    EXPECT_TRUE(plate->read()->foreignWrite);
}

TEST_F(PlateOutputs, LineThatWasAwayIsJudgedAnew)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read());
    device.silent = true;
    for (int n = 0; n < 60 && plate->failedShare() < 0.5; ++n)
        plate->read();
    ASSERT_GE(plate->failedShare(), 0.5);
    device.silent = false;
    std::this_thread::sleep_for(std::chrono::milliseconds(120));
    ASSERT_TRUE(plate->read()) << plate->lastError();
    EXPECT_EQ(plate->failedShare(), 0);
}

TEST_F(PlateOutputs, PlateWithoutAnEnableSaysSo)
{
    link.enable.reset();
    const auto plate = open();
    EXPECT_FALSE(plate->hasEnable());
    EXPECT_TRUE(plate->setEnable(true));
    EXPECT_FALSE(plate->read()->enabled);
}

TEST_F(PlateOutputs, HeaterOffTakesDutySetpointAndEnableTogether)
{
    link.setpoint = field(Holding, 11, 0.1);
    link.setpointFloorC = 5;
    const auto plate = open();
    ASSERT_TRUE(plate->setEnable(true) && plate->setDuty(0.5));
    setHolding(11, 2000);
    ASSERT_TRUE(plate->heaterOff()) << plate->lastError();
    EXPECT_EQ(holding(10), 0);
    EXPECT_EQ(holding(11), 50);
    EXPECT_EQ(coil(5), 0);
}

TEST_F(PlateOutputs, WhateverHeaterOffWouldChangeReadsAsToldToHeat)
{
    link.setpoint = field(Holding, 20, 0.1);
    link.setpointFloorC = 5;
    const auto plate = open();
    EXPECT_FALSE(plate->read()->toldToHeat) << "a set-point below the floor heats nothing";
    ASSERT_TRUE(plate->heaterOff());
    EXPECT_FALSE(plate->read()->toldToHeat);
    const auto told = [&](auto change) {
        change();
        const bool is = plate->read()->toldToHeat;
        EXPECT_TRUE(plate->heaterOff());
        EXPECT_FALSE(plate->read()->toldToHeat);
        return is;
    };
    EXPECT_TRUE(told([&] { setHolding(10, 1); }));
    EXPECT_TRUE(told([&] { setHolding(20, 51); }));
    EXPECT_TRUE(told([&] { device.with([](modbus_mapping_t& map) { map.tab_bits[5] = 1; }); }));
}

TEST_F(PlateOutputs, FloorThatTheRegisterRoundsUpIsNotToldToHeat)
{
    link.setpoint = field(Holding, 20); // whole degrees
    link.setpointFloorC = 22.5;
    const auto plate = open();
    ASSERT_TRUE(plate->heaterOff()) << plate->lastError();
    ASSERT_EQ(holding(20), 23);
    EXPECT_FALSE(plate->read()->toldToHeat);
    setHolding(20, 24);
    EXPECT_TRUE(plate->read()->toldToHeat);
}

TEST_F(PlateOutputs, IsSilentOnlyWhereNoAnswerCame)
{
    link.enable.reset();
    const auto plate = open();
    ASSERT_TRUE(plate->heaterOff());
    EXPECT_FALSE(plate->silent());
    ASSERT_TRUE(plate->setDuty(0.5));
    device.frozen = 10;
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_FALSE(plate->silent()) << "it does not do as told, but it answers";
    device.frozen = -1;
    device.silent = true;
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_TRUE(plate->silent());
}

TEST_F(PlateOutputs, LinkThatNamesOnlyTheSensorIsReadAndNotToldToHeat)
{
    link.duty.reset();
    link.enable.reset();
    const auto plate = open();
    ASSERT_TRUE(plate->read());
    EXPECT_FALSE(plate->read()->toldToHeat);
}

TEST_F(PlateOutputs, EnableIsTakenThoughTheDutyCannotBeWritten)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setEnable(true) && plate->setDuty(0.5));
    device.frozen = 10;
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_THAT(plate->lastError(), HasSubstr("wrote 0 to holding register 10, read back 0.5"));
    EXPECT_EQ(coil(5), 0);
}

TEST_F(PlateOutputs, FirstReasonIsSaidIfNothingCouldBeTurnedOff)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setEnable(true) && plate->setDuty(0.5));
    device.ignoresWrites = true;
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_THAT(plate->lastError(), HasSubstr("holding register 10"));
}

TEST_F(PlateOutputs, StripSensorIsReadUnlessItIsFaulty)
{
    const auto plate = open();
    setInput(2, 1234);
    EXPECT_DOUBLE_EQ(plate->read()->stripC.value(), 123.4);
    setInput(1, 16);
    EXPECT_FALSE(plate->read()->stripC);
    setInput(1, 0);
    for (const int raw : {32767, 4510}) { // no sensor, 451 C
        setInput(2, raw);
        EXPECT_FALSE(plate->read()->stripC) << raw;
    }
    EXPECT_FALSE(plate->read()->sensorFault); // the plate's own is another one
}

TEST_F(PlateOutputs, DutyWrittenBySomebodyElseIsNoticedAndNamed)
{
    const auto plate = open();
    setHolding(10, 700); // before anything was written: nothing to compare with
    EXPECT_FALSE(plate->read()->foreignWrite);
    ASSERT_TRUE(plate->setDuty(0.25));
    EXPECT_FALSE(plate->read()->foreignWrite);
    setHolding(10, 700);
    EXPECT_TRUE(plate->read()->foreignWrite);
    EXPECT_THAT(plate->lastError(), HasSubstr("duty reads 0.7, not the 0.25 last written"));
    ASSERT_TRUE(plate->setDuty(0.3));
    EXPECT_FALSE(plate->read()->foreignWrite);
    EXPECT_EQ(plate->lastError(), "");
}

TEST_F(PlateOutputs, DutyThatThePlatesOwnWatchdogClearedIsNoForeignWrite)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setDuty(0.25));
    setHolding(10, 0);
    setInput(1, 8);
    EXPECT_FALSE(plate->read()->foreignWrite);
    setInput(1, 0);
    EXPECT_TRUE(plate->read()->foreignWrite);
}

TEST_F(PlateOutputs, SetpointWrittenBySomebodyElseIsNoticed)
{
    link.drive = DriveKind::Setpoint;
    link.duty = field(Input, 3, 0.001);
    link.setpoint = field(Holding, 11, 0.1);
    const auto plate = open();
    ASSERT_TRUE(plate->setSetpointC(180));
    setInput(3, 500); // what its own loop gives is its own affair
    EXPECT_FALSE(plate->read()->foreignWrite);
    setHolding(11, 2400);
    EXPECT_TRUE(plate->read()->foreignWrite);
    EXPECT_THAT(plate->lastError(), HasSubstr("set-point reads 240"));
}

class SwitchedHeater : public PlateOutputs {
protected:
    SwitchedHeater() { link.duty = field(Coil, 6); }
};

TEST_F(SwitchedHeater, IsOnForWholePeriodsWhoseMeanIsTheDuty)
{
    const auto plate = open();
    for (const double duty : {0.5, 0.1, 0.37, 0.993, 1.0}) {
        int on = 0;
        for (int period = 1; period <= 100; ++period) {
            ASSERT_TRUE(plate->setDuty(duty)) << plate->lastError();
            on += coil(6);
            ASSERT_LE(std::abs(on - duty * period), 0.5 + 1e-9) << duty << " after " << period;
        }
        ASSERT_TRUE(plate->heaterOff());
    }
}

TEST_F(SwitchedHeater, ZeroIsOffAtOnceAndOwesNothing)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setDuty(0.45)); // owes 0.45
    ASSERT_TRUE(plate->setDuty(0));
    EXPECT_EQ(coil(6), 0);
    ASSERT_TRUE(plate->setDuty(0.45));
    EXPECT_EQ(coil(6), 0);
    ASSERT_TRUE(plate->setDuty(1));
    ASSERT_TRUE(plate->heaterOff());
    EXPECT_EQ(coil(6), 0);
}

TEST_F(SwitchedHeater, ItsOwnSwitchingIsReadBackAndNoForeignWrite)
{
    const auto plate = open();
    for (int period = 0; period < 10; ++period) {
        ASSERT_TRUE(plate->setDuty(0.4));
        const auto reading = plate->read();
        EXPECT_EQ(reading->duty, coil(6));
        EXPECT_FALSE(reading->foreignWrite);
    }
}

TEST_F(SwitchedHeater, PeriodThatNobodyConfirmedCountsAsHeated)
{
    const auto plate = open();
    device.ignoresWrites = true;
    EXPECT_FALSE(plate->setDuty(0.9)); // on was asked for, off was read back
    device.ignoresWrites = false;
    ASSERT_TRUE(plate->setDuty(0.5)); // 0.9 - 1 + 0.5 are owed: less than half a period
    EXPECT_EQ(coil(6), 0);
    EXPECT_FALSE(plate->setDuty(-1));
    EXPECT_EQ(coil(6), 0);
}

TEST_F(SwitchedHeater, HoldingRegisterIsSwitchedWhereTheLinkSaysSo)
{
    link.duty = field(Holding, 12);
    link.switched = true;
    const auto plate = open();
    int on = 0;
    for (int period = 0; period < 20; ++period) {
        ASSERT_TRUE(plate->setDuty(0.35)) << plate->lastError();
        on += holding(12);
        EXPECT_TRUE(holding(12) == 0 || holding(12) == 1);
    }
    EXPECT_EQ(on, 7);
    ASSERT_TRUE(plate->heaterOff());
    EXPECT_EQ(holding(12), 0);
}

// 0.2 s a period: 10 periods.
TEST_F(SwitchedHeater, StandsItsLeastTimeAndOwesWhatItCouldNotGive)
{
    link.leastOnS = 2;
    const auto plate = open();
    for (const double duty : {0.05, 0.3, 0.5, 0.77, 0.95}) {
        int on = 0, stood = 0, last = 0, changes = 0;
        for (int period = 1; period <= 600; ++period) {
            ASSERT_TRUE(plate->setDuty(duty)) << plate->lastError();
            if (coil(6) != last) {
                EXPECT_TRUE(changes == 0 || stood >= 10) << duty << ": stood " << stood << " at " << last;
                ++changes;
                stood = 0;
            }
            last = coil(6);
            ++stood;
            on += last;
        }
        EXPECT_NEAR(on, duty * 600, 10) << duty;
        EXPECT_GT(changes, 4);
        ASSERT_TRUE(plate->heaterOff());
        for (int n = 0; n < 10; ++n)
            ASSERT_TRUE(plate->setDuty(0));
    }
}

TEST_F(SwitchedHeater, HeaterOffWaitsForNoLeastTime)
{
    link.leastOnS = 20;
    const auto plate = open();
    ASSERT_TRUE(plate->setDuty(1));
    ASSERT_EQ(coil(6), 1);
    ASSERT_TRUE(plate->heaterOff());
    EXPECT_EQ(coil(6), 0);
    ASSERT_TRUE(plate->setDuty(1));
    EXPECT_EQ(coil(6), 0) << "but off it stands";
}

TEST_F(SwitchedHeater, LeastTimeCountsInPeriodsAsLongAsReadingsTake)
{
    link.leastOnS = 2;
    link.readingEveryS = 1;
    const auto plate = open();
    std::string stood;
    for (int period = 0; period < 12; ++period) {
        ASSERT_TRUE(plate->setDuty(0.5));
        stood += coil(6) ? '1' : '0';
    }
    EXPECT_EQ(stood, "110011001100");
}

class Settings : public PlateOutputs {
protected:
    Settings()
    {
        link.settings = {{"own ramp off", field(Holding, 40, 0.1), 0},
                         {"automatic", field(Coil, 9), 1},
                         {"keys locked", field(Holding, 60), 3}};
        setHolding(40, 25);
    }
    std::string refusal()
    {
        try {
            open();
        } catch (const LinkError& error) {
            return error.what();
        }
        return {};
    }
};

TEST_F(Settings, AreWrittenWhenThePlateIsOpened)
{
    const auto plate = open();
    EXPECT_EQ(holding(40), 0);
    EXPECT_EQ(coil(9), 1);
    EXPECT_EQ(holding(60), 3);
    for (int n = 0; n < 6; ++n) {
        EXPECT_FALSE(plate->read()->foreignWrite);
        EXPECT_EQ(plate->lastError(), "");
    }
}

TEST_F(Settings, ThatStandAlreadyAreNotWrittenForSomeDevicesMemoryWears)
{
    setHolding(40, 0);
    setHolding(60, 3);
    device.with([](modbus_mapping_t& map) { map.tab_bits[9] = 1; });
    device.ignoresWrites = true;
    EXPECT_EQ(refusal(), "");
}

TEST_F(Settings, OneThatIsNotTakenRefusesTheOpening)
{
    device.frozen = 40;
    const std::string why = refusal();
    EXPECT_THAT(why, HasSubstr("\"own ramp off\""));
    EXPECT_THAT(why, HasSubstr("wrote 0 to holding register 40, read back 2.5"));
    EXPECT_THAT(why, HasSubstr("Set it at the plate itself"));
}

TEST_F(Settings, OneThatDoesNotExistRefusesTheOpeningByItsName)
{
    device.missing = 60;
    EXPECT_THAT(refusal(), HasSubstr("\"keys locked\""));
}

TEST_F(Settings, AreWrittenOnlyToAPlateThatIsOff)
{
    setHolding(10, 500); // another program's heat
    bool underHeat = false;
    device.meanwhile([&](modbus_mapping_t& map) {
        const bool written = map.tab_registers[40] == 0 || map.tab_bits[9] || map.tab_registers[60] == 3;
        underHeat = underHeat || (written && map.tab_registers[10] != 0);
    });
    EXPECT_EQ(refusal(), "");
    device.meanwhile({});
    EXPECT_FALSE(underHeat);
    EXPECT_EQ(holding(10), 0);
}

TEST_F(Settings, AreNotWrittenToAPlateThatCannotBeTurnedOff)
{
    setHolding(10, 500);
    device.frozen = 10;
    EXPECT_THAT(refusal(), HasSubstr("could not be turned off before its settings are written"));
    EXPECT_EQ(holding(40), 25);
    EXPECT_EQ(coil(9), 0);
}

// As one that goes on to an old set-point once it is automatic.
TEST_F(Settings, PlateThatIsRefusedAfterASettingHasLetItHeatIsLeftOff)
{
    link.watchdogS = field(Holding, 70, 0.1);
    for (const int notTaken : {60, 70}) {
        SCOPED_TRACE(notTaken);
        device.with([](modbus_mapping_t& map) { map.tab_bits[9] = 0; });
        setHolding(60, 0);
        bool heats = false;
        device.meanwhile([&](modbus_mapping_t& map) {
            if (map.tab_bits[9] && !heats)
                map.tab_registers[10] = 500;
            heats = heats || map.tab_bits[9];
        });
        device.frozen = notTaken;
        EXPECT_THAT(refusal(), HasSubstr(notTaken == 60 ? "\"keys locked\"" : "its watchdog time"));
        device.meanwhile({});
        EXPECT_TRUE(heats);
        EXPECT_EQ(holding(10), 0);
    }
}

TEST_F(Settings, OpenedAgainThePlateStandsAsItWasLeftAndItsSettingsAreLookedAfter)
{
    auto plate = open();
    ASSERT_TRUE(plate->read() && plate->setDuty(0.25));
    const int stands = holding(10);
    plate.reset();
    const int before = device.requests;
    plate = openPlateAgain(link);
    EXPECT_LT(device.requests - before, 8) << "however many settings: the guardian waits";
    const auto reading = plate->read();
    ASSERT_TRUE(reading);
    EXPECT_EQ(holding(10), stands) << "what a silence has left is still to be looked at";
    EXPECT_GT(reading->duty.value(), 0.2);
    ASSERT_TRUE(plate->setDuty(0.25));
    setHolding(60, 0);
    int foreign = 0;
    for (int n = 0; n < 6; ++n)
        foreign += plate->read()->foreignWrite;
    EXPECT_GE(foreign, 2);
}

TEST_F(Settings, OneThatIsChangedWhileTheWatchdogBitStandsIsAForeignWriteToo)
{
    setInput(1, 8);
    const auto plate = open();
    ASSERT_TRUE(plate->read()->watchdogTripped && plate->setDuty(0.25));
    setHolding(60, 0);
    int foreign = 0;
    for (int n = 0; n < 6; ++n)
        foreign += plate->read()->foreignWrite;
    EXPECT_GE(foreign, 2);
}

TEST_F(Settings, OneThatIsChangedLaterIsAForeignWriteUntilItStandsAgain)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read() && plate->setDuty(0.25));
    setHolding(60, 0);
    int cycles = 0;
    while (!plate->read()->foreignWrite && cycles < 10)
        ++cycles;
    EXPECT_LT(cycles, 3) << "each is read once in as many cycles as there are requests";
    EXPECT_THAT(plate->lastError(), HasSubstr("the setting \"keys locked\" reads 0, not the 3"));
    int foreign = 0;
    for (int n = 0; n < 6; ++n)
        foreign += plate->read()->foreignWrite;
    EXPECT_GE(foreign, 2) << "as often as it is read";
    EXPECT_LT(foreign, 6) << "one odd reading counts once";
    setHolding(60, 3);
    for (int n = 0; n < 3; ++n)
        plate->read();
    EXPECT_FALSE(plate->read()->foreignWrite);
    ASSERT_TRUE(plate->heaterOff());
    setHolding(60, 0);
    for (int n = 0; n < 4; ++n)
        EXPECT_FALSE(plate->read()->foreignWrite) << "no heat is on that it could change";
}

TEST_F(Settings, HoldUpNobodyWhoOnlyTurnsTheHeaterOff)
{
    device.frozen = 40;
    const auto plate = openToTurnOff(link, 1.0, 0.1);
    setHolding(10, 500);
    EXPECT_TRUE(plate->heaterOff()) << plate->lastError();
    EXPECT_EQ(holding(10), 0);
    EXPECT_TRUE(plate->read()) << plate->lastError();
}

} // namespace
