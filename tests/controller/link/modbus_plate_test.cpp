#include "link/plate_link.h"
#include "link/register_codec.h"
#include "serial_device.h"
#include "test_device.h"

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <new>

using namespace stripwright;
using testing::HasSubstr;
using Clock = std::chrono::steady_clock;

static thread_local long allocations = 0;

void* operator new(std::size_t size)
{
    ++allocations;
    if (void* memory = std::malloc(size ? size : 1))
        return memory;
    throw std::bad_alloc();
}
void* operator new(std::size_t size, const std::nothrow_t&) noexcept
{
    ++allocations;
    return std::malloc(size ? size : 1);
}
void operator delete(void* memory) noexcept
{
    std::free(memory);
}
void operator delete(void* memory, std::size_t) noexcept
{
    std::free(memory);
}

namespace {

constexpr double responseTimeoutS = 0.1;

double since(Clock::time_point start)
{
    return std::chrono::duration<double>(Clock::now() - start).count();
}

RegisterField field(RegisterTable table, int address, RegisterType type, double scale = 1)
{
    return {.table = table, .address = address, .type = type, .scale = scale};
}

PlateLink dutyLink(int port)
{
    PlateLink link;
    link.name = "test plate";
    link.host = "127.0.0.1";
    link.port = port;
    link.sensor = field(RegisterTable::Input, 0, RegisterType::Int16, 0.1);
    link.status = field(RegisterTable::Input, 1, RegisterType::Uint16);
    link.sensorFaultMask = 4;
    link.watchdogTrippedMask = 8;
    link.counter = field(RegisterTable::Input, 2, RegisterType::Uint16);
    link.duty = field(RegisterTable::Holding, 10, RegisterType::Uint16, 0.001);
    link.watchdogS = field(RegisterTable::Holding, 12, RegisterType::Uint16, 0.1);
    link.fan = field(RegisterTable::Coil, 3, RegisterType::Uint16);
    link.noSensorRaw = {32767, -10};
    link.channels = {{"second_C", field(RegisterTable::Input, 20, RegisterType::Float32)}};
    return link;
}

std::string refusalOf(const PlateLink& link)
{
    try {
        openPlate(link, 0.5, responseTimeoutS);
    } catch (const LinkError& error) {
        return error.what();
    }
    return "opened";
}

class ModbusPlate : public testing::Test {
protected:
    std::unique_ptr<Plate> open() { return openPlate(dutyLink(device.port()), 1.0, responseTimeoutS); }

    void setInput(int address, int value)
    {
        device.with(
            [&](modbus_mapping_t& map) { map.tab_input_registers[address] = static_cast<uint16_t>(value); });
    }
    int holding(int address)
    {
        return device.with([&](modbus_mapping_t& map) { return int(map.tab_registers[address]); });
    }

    // As a control loop does: asks again until the line is back.
    static std::optional<PlateReading> readUntilBack(Plate& plate)
    {
        for (const auto start = Clock::now(); since(start) < 3;)
            if (auto reading = plate.read())
                return reading;
        return {};
    }

    TestDevice device;
};

TEST_F(ModbusPlate, ReadsEveryQuantityThroughItsScale)
{
    std::uint16_t words[2];
    encodeRaw(-12.25, RegisterType::Float32, WordOrder::ABCD, words);
    device.with([&](modbus_mapping_t& map) {
        map.tab_input_registers[0] = 2345;
        map.tab_input_registers[1] = 8;
        map.tab_input_registers[2] = 65535;
        map.tab_input_registers[20] = words[0];
        map.tab_input_registers[21] = words[1];
        map.tab_registers[10] = 250;
    });
    const auto plate = open();
    const auto reading = plate->read();
    ASSERT_TRUE(reading);
    EXPECT_DOUBLE_EQ(reading->sensorC, 234.5);
    EXPECT_FALSE(reading->sensorFault);
    EXPECT_TRUE(reading->watchdogTripped);
    EXPECT_EQ(reading->counter, 65535u);
    EXPECT_DOUBLE_EQ(reading->duty.value(), 0.25);
    EXPECT_FALSE(reading->setpointC);
    ASSERT_EQ(reading->extraCount, 1);
    EXPECT_EQ(reading->extraC[0], -12.25);
    EXPECT_EQ(plate->lastError(), "");
}

TEST_F(ModbusPlate, OneCycleReadsEachTableOnce)
{
    const auto plate = open();
    const int before = device.requests;
    ASSERT_TRUE(plate->read());
    EXPECT_EQ(device.requests - before, 2); // input 0 to 21 and holding 10
}

TEST_F(ModbusPlate, WritesItsWatchdogWhenOpened)
{
    const auto plate = open();
    EXPECT_EQ(holding(12), 30); // 3 s in steps of 0.1 s
}

TEST_F(ModbusPlate, IsNotOpenedIfTheWatchdogReadsBackDifferent)
{
    device.ignoresWrites = true;
    const std::string why = refusalOf(dutyLink(device.port()));
    EXPECT_THAT(why, HasSubstr("watchdog"));
    EXPECT_THAT(why, HasSubstr("read back 0"));
}

TEST(ModbusPlateOpening, SaysHostPortAndWhatToCheckIfNothingListens)
{
    const int port = deadPort();
    const auto start = Clock::now();
    const std::string why = refusalOf(dutyLink(port));
    EXPECT_LT(since(start), 1.5);
    EXPECT_THAT(why, HasSubstr("127.0.0.1 port " + std::to_string(port)));
    EXPECT_THAT(why, HasSubstr("connection refused"));
    EXPECT_THAT(why, HasSubstr("switched on"));
    EXPECT_THAT(why, HasSubstr("cable"));
}

TEST(ModbusPlateOpening, SaysThatAHostIsNotKnown)
{
    PlateLink link = dutyLink(502);
    link.host = "no-such-plate.invalid"; // never resolves: RFC 2606
    EXPECT_THAT(refusalOf(link), HasSubstr("\"no-such-plate.invalid\" is not known"));
}

TEST_F(ModbusPlate, IsNotOpenedIfItIsConnectedButSilent)
{
    device.silent = true;
    const auto start = Clock::now();
    const std::string why = refusalOf(dutyLink(device.port()));
    EXPECT_LT(since(start), 1.5);
    EXPECT_THAT(why, HasSubstr("no answer in time"));
    EXPECT_THAT(why, HasSubstr("unit number"));
}

TEST_F(ModbusPlate, IsNotOpenedIfANamedRegisterDoesNotExist)
{
    device.missing = 1;
    EXPECT_THAT(refusalOf(dutyLink(device.port())), HasSubstr("Check the addresses"));
}

TEST_F(ModbusPlate, ReadsAroundAnUnnamedRegisterThatDoesNotExist)
{
    device.missing = 15; // between the counter and the channel
    setInput(0, 500);
    const auto plate = open();
    const auto reading = plate->read();
    ASSERT_TRUE(reading);
    EXPECT_DOUBLE_EQ(reading->sensorC, 50.0);
}

TEST_F(ModbusPlate, ConfirmsADutyThatReadsBackEqual)
{
    const auto plate = open();
    EXPECT_TRUE(plate->setDuty(0.7311));
    EXPECT_EQ(holding(10), 731);
    EXPECT_TRUE(plate->setDuty(1));
    EXPECT_EQ(holding(10), 1000);
    EXPECT_TRUE(plate->heaterOff());
    EXPECT_EQ(holding(10), 0);
    EXPECT_EQ(plate->lastError(), "");
}

TEST_F(ModbusPlate, DoesNotConfirmAWriteThatWasAcknowledgedButNotDone)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setDuty(0.5));
    device.ignoresWrites = true;
    EXPECT_FALSE(plate->setDuty(0.6));
    EXPECT_THAT(plate->lastError(), HasSubstr("wrote 0.6 to holding register 10, read back 0.5"));
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_FALSE(plate->setFan(true));
    device.ignoresWrites = false;
    EXPECT_TRUE(plate->heaterOff());
}

TEST_F(ModbusPlate, RefusesADutyThatIsNoneAndWritesZero)
{
    const auto plate = open();
    for (const double bad : {std::nan(""), -0.01, 1.01, HUGE_VAL}) {
        ASSERT_TRUE(plate->setDuty(0.5));
        EXPECT_FALSE(plate->setDuty(bad));
        EXPECT_EQ(holding(10), 0) << bad;
        EXPECT_THAT(plate->lastError(), HasSubstr("refused"));
    }
    EXPECT_FALSE(plate->setSetpointC(100));
}

TEST_F(ModbusPlate, SetpointPlateIsSwitchedOffByItsFloor)
{
    PlateLink link = dutyLink(device.port());
    link.drive = DriveKind::Setpoint;
    link.setpoint = field(RegisterTable::Holding, 40, RegisterType::Float32);
    link.setpoint->order = WordOrder::CDAB;
    link.setpointFloorC = 5;
    link.duty->table = RegisterTable::Input;
    const auto plate = openPlate(link, 1.0, responseTimeoutS);
    ASSERT_TRUE(plate->setSetpointC(181.5));
    EXPECT_EQ(plate->read()->setpointC, 181.5);
    EXPECT_FALSE(plate->setDuty(0.2));
    EXPECT_EQ(plate->read()->setpointC, 181.5);
    EXPECT_TRUE(plate->heaterOff());
    EXPECT_EQ(plate->read()->setpointC, 5);
    for (const double bad : {std::nan(""), 4.0, 1000.0}) {
        ASSERT_TRUE(plate->setSetpointC(100));
        EXPECT_FALSE(plate->setSetpointC(bad));
        EXPECT_EQ(plate->read()->setpointC, 5) << bad;
    }
}

TEST_F(ModbusPlate, FanFollowsAndAnUnmappedOutputIsNoFailure)
{
    const auto plate = open();
    const auto fan = [&] { return device.with([](modbus_mapping_t& map) { return int(map.tab_bits[3]); }); };
    EXPECT_TRUE(plate->setFan(true));
    EXPECT_EQ(fan(), 1);
    EXPECT_TRUE(plate->setFan(false));
    EXPECT_EQ(fan(), 0);
    EXPECT_TRUE(plate->setStripLifted(true));
}

TEST_F(ModbusPlate, SentinelStatusBitAndImpossibleValuesAreSensorFaults)
{
    const auto plate = open();
    setInput(0, 2000);
    ASSERT_FALSE(plate->read()->sensorFault);
    for (const int raw : {32767, -10, 4510, -410}) { // no sensor by either value, 451 C, -41 C
        setInput(0, raw);
        const auto reading = plate->read();
        ASSERT_TRUE(reading);
        EXPECT_TRUE(reading->sensorFault) << raw;
    }
    setInput(0, 2000);
    setInput(1, 4);
    EXPECT_TRUE(plate->read()->sensorFault);
    setInput(1, 3);
    EXPECT_FALSE(plate->read()->sensorFault);
}

TEST_F(ModbusPlate, ValueThatIsNoNumberIsASensorFault)
{
    PlateLink link = dutyLink(device.port());
    link.sensor = field(RegisterTable::Input, 20, RegisterType::Float32);
    link.noSensorRaw.clear();
    const auto plate = openPlate(link, 1.0, responseTimeoutS);
    for (const int high : {0x7FC0, 0x7F80, 0xFF80}) { // NaN, +Inf, -Inf
        setInput(20, high);
        EXPECT_TRUE(plate->read()->sensorFault) << high;
    }
    setInput(20, 0x4248); // 50.0f
    EXPECT_FALSE(plate->read()->sensorFault);
    EXPECT_EQ(plate->read()->sensorC, 50.0);
}

TEST_F(ModbusPlate, NeverUsesAnAnswerOfAnotherUnit)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read());
    device.answersAs = 2;
    EXPECT_FALSE(plate->read());
    EXPECT_THAT(plate->lastError(), HasSubstr("another unit answered"));
    std::this_thread::sleep_for(std::chrono::milliseconds(120));
    EXPECT_FALSE(plate->setDuty(0.3)) << "what is read back in another's name confirms nothing";
    std::this_thread::sleep_for(std::chrono::milliseconds(120));
    EXPECT_FALSE(plate->heaterOff());
    device.answersAs = -1;
    std::this_thread::sleep_for(std::chrono::milliseconds(120));
    EXPECT_TRUE(plate->heaterOff()) << plate->lastError();
    EXPECT_TRUE(plate->read());
}

TEST_F(ModbusPlate, NeverUsesAnAnswerToAnotherRequest)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read());
    device.wrongTransactions = 3; // it asks again
    EXPECT_FALSE(plate->read());
    EXPECT_THAT(plate->lastError(), HasSubstr("does not fit the request"));
    std::this_thread::sleep_for(std::chrono::milliseconds(120));
    EXPECT_TRUE(plate->read()) << plate->lastError();
}

TEST_F(ModbusPlate, NeverUsesAnAnswerThatCameLate)
{
    setInput(0, 1000);
    const auto plate = open();
    device.delayOnceMs = 250;
    EXPECT_FALSE(plate->read());
    EXPECT_THAT(plate->lastError(), HasSubstr("no answer in time"));
    setInput(0, 1500);
    const auto reading = readUntilBack(*plate);
    ASSERT_TRUE(reading);
    EXPECT_DOUBLE_EQ(reading->sensorC, 150.0);
    for (int i = 0; i < 20; ++i)
        ASSERT_DOUBLE_EQ(plate->read().value().sensorC, 150.0);
}

TEST_F(ModbusPlate, ComesBackAfterAClosedConnectionAndSetsTheWatchdogAnew)
{
    const auto plate = open();
    device.hangsUp = true;
    EXPECT_FALSE(plate->setDuty(0.3));
    EXPECT_NE(plate->lastError(), "");
    device.with([](modbus_mapping_t& map) { map.tab_registers[12] = 0; }); // switched off and on
    device.hangsUp = false;
    ASSERT_TRUE(readUntilBack(*plate));
    EXPECT_EQ(holding(12), 30);
    EXPECT_EQ(device.connections, 2);
}

TEST_F(ModbusPlate, StaysLostWhileAReturningPlateDoesNotTakeItsWatchdog)
{
    const auto plate = open();
    device.hangsUp = true;
    EXPECT_FALSE(plate->read());
    device.with([](modbus_mapping_t& map) { map.tab_registers[12] = 0; });
    device.ignoresWrites = true;
    device.hangsUp = false;
    const int connectionsBefore = device.connections;
    while (device.connections < connectionsBefore + 2)
        ASSERT_FALSE(plate->read());
    EXPECT_THAT(plate->lastError(), HasSubstr("read back 0"));
}

TEST_F(ModbusPlate, OpensALostLineNoMoreThanOnceInAResponseTimeout)
{
    const auto plate = open();
    device.hangsUp = true;
    const auto start = Clock::now();
    const int before = device.connections;
    while (since(start) < 5 * responseTimeoutS)
        EXPECT_FALSE(plate->read());
    const double mostOpenings = since(start) / responseTimeoutS + 1;
    EXPECT_LE(device.connections - before, mostOpenings);
    EXPECT_GE(device.connections - before, 1);
}

TEST_F(ModbusPlate, ExceptionIsAFailureThatKeepsTheConnection)
{
    const auto plate = open();
    for (const int code : {2, 3, 4, 6, 11}) {
        device.exception = code;
        EXPECT_FALSE(plate->read()) << code;
        EXPECT_NE(plate->lastError(), "") << code;
        EXPECT_FALSE(plate->setDuty(0.1)) << code;
        device.exception = 0;
        EXPECT_TRUE(plate->read()) << code;
    }
    EXPECT_EQ(device.connections, 1);
}

TEST_F(ModbusPlate, ResponseTimeoutBoundsAnAnswerThatComesByteByByte)
{
    const auto plate = open();
    device.tricklesAnswers = true; // 350 ms for the header alone
    const auto start = Clock::now();
    EXPECT_FALSE(plate->read());
    EXPECT_LT(since(start), 0.3);
    device.tricklesAnswers = false;
    EXPECT_TRUE(readUntilBack(*plate));
}

TEST_F(ModbusPlate, SuccessfulCyclesDoNotAllocate)
{
    const auto plate = open();
    ASSERT_TRUE(plate->read() && plate->setDuty(0.4) && plate->heaterOff());
    const long before = allocations;
    for (int i = 0; i < 10; ++i) {
        const auto reading = plate->read();
        const bool done =
            reading && plate->setDuty(0.01 * i) && plate->heaterOff() && plate->setFan(i % 2 == 0);
        if (!done)
            FAIL() << plate->lastError();
    }
    EXPECT_EQ(allocations - before, 0);
}

TEST_F(ModbusPlate, SuccessfulCyclesOnASerialLineDoNotAllocate)
{
    SerialDevice serial;
    PlateLink link = dutyLink(0);
    link.serial = serial.line();
    link.enable = field(RegisterTable::Coil, 4, RegisterType::Uint16);
    const auto plate = openPlate(link, 1.0, responseTimeoutS);
    ASSERT_TRUE(plate->read() && plate->setEnable(true) && plate->setDuty(0.4) && plate->heaterOff());
    const long before = allocations;
    for (int i = 0; i < 5; ++i) {
        const bool done = plate->read() && plate->setEnable(true) && plate->setDuty(0.01 * i) &&
                          plate->heaterOff() && plate->setFan(i % 2 == 0);
        if (!done)
            FAIL() << plate->lastError();
    }
    EXPECT_EQ(allocations - before, 0);
}

} // namespace
