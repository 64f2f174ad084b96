#include "link/line_time.h"
#include "link/modbus_line.h"
#include "serial_device.h"

#include <filesystem>
#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <random>
#include <unistd.h>

using namespace stripwright;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using Clock = std::chrono::steady_clock;
using enum RegisterTable;

namespace {

double since(Clock::time_point start)
{
    return std::chrono::duration<double>(Clock::now() - start).count();
}

RegisterField field(RegisterTable table, int address, double scale = 1, std::optional<int> unit = {})
{
    return {.table = table, .address = address, .type = RegisterType::Uint16, .scale = scale, .unit = unit};
}

PlateLink linkTo(const SerialDevice& device)
{
    PlateLink link;
    link.name = "serial plate";
    link.serial = device.line();
    link.sensor = field(Input, 0, 0.1);
    link.counter = field(Input, 2);
    link.duty = field(Holding, 10, 0.001);
    link.watchdogS = field(Holding, 12, 0.1);
    return link;
}

class SerialPlate : public testing::Test {
protected:
    std::unique_ptr<Plate> open() { return openPlate(linkTo(device), 1.0, 0.1); }

    // As a control loop does: asks again until the line is back.
    static std::optional<PlateReading> readUntilBack(Plate& plate)
    {
        for (const auto start = Clock::now(); since(start) < 3;)
            if (auto reading = plate.read())
                return reading;
        return {};
    }
    int holding(int address, int unit = 1) { return device.get(unit, Holding, address); }

    SerialDevice device;
};

TEST_F(SerialPlate, IsReadAndDriven)
{
    device.set(1, Input, 0, 2345);
    device.set(1, Input, 2, 7);
    const auto plate = open();
    EXPECT_EQ(holding(12), 30);
    ASSERT_TRUE(plate->setDuty(0.375)) << plate->lastError();
    EXPECT_EQ(holding(10), 375);
    const auto reading = plate->read();
    ASSERT_TRUE(reading) << plate->lastError();
    EXPECT_DOUBLE_EQ(reading->sensorC, 234.5);
    EXPECT_EQ(reading->counter, 7u);
    EXPECT_DOUBLE_EQ(reading->duty.value(), 0.375);
    ASSERT_TRUE(plate->heaterOff());
    EXPECT_EQ(holding(10), 0);
    EXPECT_EQ(plate->lastError(), "");
}

TEST_F(SerialPlate, KeepsThreeAndAHalfCharactersOfSilenceAndHardlyMore)
{
    PlateLink link = linkTo(device);
    link.serial->baud = 1200;
    const auto plate = openPlate(link, 1.0, 0.1);
    device.forgetGaps();
    for (int i = 0; i < 5; ++i)
        ASSERT_TRUE(plate->read() && plate->setDuty(0.1)) << plate->lastError();
    const double silenceS = 3.5 * 10 / 1200;
    EXPECT_GE(device.shortestGapS(), silenceS);
    EXPECT_LT(device.shortestGapS(), silenceS + 0.01);
}

// Every answer is made from what stood in the register when it was asked for. The value changes before each
// cycle: a value of an earlier cycle is an answer to an earlier request.
TEST_F(SerialPlate, NeverTakesALateAnswerForAValue)
{
    device.set(1, Input, 0, 0);
    const auto plate = open();
    std::mt19937 random(5);
    int believed = 0, failed = 0;
    for (int cycle = 1; cycle <= 60; ++cycle) {
        device.set(1, Input, 0, cycle);
        if (random() % 3 == 0)
            device.delayOnceMs = 90 + static_cast<int>(random() % 80);
        if (const auto reading = plate->read()) {
            ++believed;
            ASSERT_NEAR(reading->sensorC, 0.1 * cycle, 1e-9) << "cycle " << cycle;
        } else {
            ++failed;
        }
        if (random() % 4 == 0)
            device.delayOnceMs = 90 + static_cast<int>(random() % 80);
        const double duty = 0.001 * cycle;
        if (plate->setDuty(duty)) {
            ASSERT_EQ(holding(10), cycle);
        }
    }
    EXPECT_GT(believed, 15);
    EXPECT_GT(failed, 10);
}

// The same by reads alone, where no write in between could tell a late answer from the one that is waited
// for.
TEST_F(SerialPlate, NeverTakesALateAnswerForAnotherReadOfTheSameSize)
{
    ModbusLine line(linkTo(device), 1);
    line.setProbes({{Input, 0, 1, 1}});
    ASSERT_TRUE(line.open(1, 0.1));
    std::mt19937 random(9);
    int believed = 0, failed = 0;
    for (int value = 1; value <= 60; ++value) {
        device.set(1, Input, 2, value);
        if (random() % 3 == 0)
            device.delayOnceMs = 90 + static_cast<int>(random() % 120);
        std::uint16_t words[3] = {};
        if (line.read({Input, 0, 3, 1}, words)) {
            ++believed;
            ASSERT_EQ(words[2], value);
        } else {
            ++failed;
        }
    }
    EXPECT_GT(believed, 15);
    EXPECT_GT(failed, 10);
}

TEST_F(SerialPlate, CallThatWouldWaitTooLongForSilenceFailsAtOnceAndTheNextGoesOnWaiting)
{
    PlateLink link = linkTo(device);
    link.serial->turnroundS = 0.15;
    ModbusLine line(link, 1);
    ASSERT_TRUE(line.open(1, 0.02));
    ASSERT_TRUE(line.settle(1));
    std::uint16_t word = 0;
    ASSERT_TRUE(line.read({Input, 0, 1, 1}, &word)) << line.error();
    device.silent = true;
    EXPECT_FALSE(line.read({Input, 0, 1, 1}, &word));
    const auto failed = Clock::now();
    device.silent = false;
    const int before = device.requests;
    int refused = 0;
    while (!line.read({Input, 0, 1, 1}, &word)) {
        ++refused;
        ASSERT_THAT(line.error(), HasSubstr("waiting for silence on the line"));
        ASSERT_LT(since(failed), 3);
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
    EXPECT_GE(since(failed), 0.15);
    EXPECT_GE(refused, 2);
    EXPECT_EQ(device.requests - before, 1);
}

TEST_F(SerialPlate, JunkBeforeAnAnswerCostsNoMoreThanTwoCycles)
{
    device.set(1, Input, 0, 500);
    const auto plate = open();
    for (const int bytes : {1, 2, 5, 40}) {
        device.noiseBefore = bytes;
        int cycles = 0;
        while (!plate->read())
            ASSERT_LE(++cycles, 2) << bytes << " bytes: " << plate->lastError();
        EXPECT_EQ(plate->read().value().sensorC, 50.0);
    }
}

TEST_F(SerialPlate, AnswerOfAnotherUnitIsNone)
{
    const auto plate = open();
    device.answersAs = 9;
    EXPECT_FALSE(plate->read());
    EXPECT_FALSE(plate->setDuty(0.2));
    EXPECT_THAT(plate->lastError(), HasSubstr("another unit answered"));
    device.answersAs = 0;
    EXPECT_TRUE(readUntilBack(*plate));
}

TEST_F(SerialPlate, EchoOfAnotherAddressIsNoAcknowledgement)
{
    const auto plate = open();
    device.wrongEcho = true;
    EXPECT_FALSE(plate->setDuty(0.6));
    EXPECT_THAT(plate->lastError(), HasSubstr("sent 01 06 00 0A 02 58, but the answer is 01 06 00 0B 02 58"));
    EXPECT_FALSE(plate->heaterOff());
    device.wrongEcho = false;
    EXPECT_TRUE(plate->heaterOff()) << plate->lastError();
}

TEST_F(SerialPlate, TwoRegistersAreWrittenAtOnceAndTheirEchoIsCompared)
{
    PlateLink link = linkTo(device);
    link.duty->type = RegisterType::Float32;
    link.duty->scale = 1;
    const auto plate = openPlate(link, 1.0, 0.1);
    ASSERT_TRUE(plate->setDuty(0.5)) << plate->lastError();
    EXPECT_EQ(holding(10), 0x3F00); // 0.5f = 3F00 0000 (IEEE 754)
    device.wrongEcho = true;
    EXPECT_FALSE(plate->setDuty(0.6));
    EXPECT_THAT(plate->lastError(), HasSubstr("sent 01 10 00 0A 00 02, but the answer is 01 10 00 0B 00 02"));
}

TEST_F(SerialPlate, AnswerThatComesByteByByteIsBoundedByTheTimeout)
{
    const auto plate = open();
    device.tricklesAnswers = true;
    const auto start = Clock::now();
    EXPECT_FALSE(plate->read());
    EXPECT_LT(since(start), 0.3); // some 10 bytes would take 1 s
    device.tricklesAnswers = false;
    EXPECT_TRUE(readUntilBack(*plate)) << plate->lastError();
}

TEST_F(SerialPlate, BusyIsAskedOnceMore)
{
    const auto plate = open();
    for (const int busy : {5, 6}) {
        device.exception = busy;
        device.exceptions = 1;
        EXPECT_TRUE(plate->read()) << plate->lastError();
        device.exceptions = 2;
        EXPECT_FALSE(plate->read());
        device.exception = 0;
    }
}

TEST_F(SerialPlate, ExceptionIsAnAnswerAfterWhichNothingIsInDoubt)
{
    const auto plate = open();
    device.exception = 4;
    EXPECT_FALSE(plate->read());
    EXPECT_THAT(plate->lastError(), HasSubstr("exception 04 (device failure)"));
    device.exception = 0;
    const int before = device.requests;
    EXPECT_TRUE(plate->read());
    EXPECT_EQ(device.requests - before, 2); // its two tables, no probe
}

TEST_F(SerialPlate, HeaterOffIsSentThoughTheLineIsNeverSilent)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setDuty(0.5));
    std::atomic<bool> chatters{true};
    std::thread chatter([&] {
        while (chatters) {
            device.say(std::vector<std::uint8_t>(2, 0x55));
            std::this_thread::sleep_for(std::chrono::microseconds(100));
        }
    });
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    const auto start = Clock::now();
    plate->read(); // a busy machine may leave gaps to chatter in
    EXPECT_LT(since(start), 0.5);
    EXPECT_FALSE(plate->heaterOff());
    for (int i = 0; i < 200 && holding(10) != 0; ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    EXPECT_EQ(holding(10), 0);
    EXPECT_FALSE(plate->setDuty(0.4)); // while heat waits for silence, or is lost in the chatter
    chatters = false;
    chatter.join();
    EXPECT_TRUE(readUntilBack(*plate)) << plate->lastError();
}

TEST_F(SerialPlate, HeaterOffIsSentThoughNoAnswerEverComesBack)
{
    const auto plate = open();
    ASSERT_TRUE(plate->setDuty(0.5));
    device.silent = true;
    EXPECT_FALSE(plate->read());
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_EQ(holding(10), 0);
}

TEST_F(SerialPlate, WatchdogIsSetAnewAfterTheLineFailed)
{
    const auto plate = open();
    device.silent = true;
    EXPECT_FALSE(plate->read());
    device.set(1, Holding, 12, 0); // switched off and on
    device.silent = false;
    ASSERT_TRUE(readUntilBack(*plate));
    EXPECT_EQ(holding(12), 30);
}

TEST_F(SerialPlate, AnotherMasterIsNoticedByWhatItSaysAndNoiseIsNot)
{
    const auto plate = open();
    const std::vector<std::uint8_t> request = {7, 3, 0, 0, 0, 1, 0x84, 0x6C};
    for (int i = 0; i < 5; ++i) {
        device.say({0});
        ASSERT_TRUE(plate->read());
        EXPECT_EQ(plate->lastError(), "");
    }
    for (int i = 0; i < 3; ++i) {
        EXPECT_EQ(plate->lastError(), "");
        device.say(request);
        ASSERT_TRUE(plate->read());
    }
    EXPECT_THAT(plate->lastError(), HasSubstr("another master"));
}

TEST_F(SerialPlate, LateAnswersAreNoOtherMaster)
{
    const auto plate = open();
    for (int i = 0; i < 4; ++i) {
        device.delayOnceMs = 100;
        EXPECT_FALSE(plate->read());
        EXPECT_THAT(plate->lastError(), Not(HasSubstr("another master")));
        ASSERT_TRUE(readUntilBack(*plate));
        EXPECT_EQ(plate->lastError(), "");
    }
}

TEST_F(SerialPlate, UnpluggedAdapterIsSaidAndFoundAgainWhenItIsBack)
{
    const std::string name = testing::TempDir() + "tty-of-this-test";
    std::filesystem::remove(name);
    auto first = std::make_unique<SerialDevice>();
    std::filesystem::create_symlink(first->path(), name);
    PlateLink link = linkTo(*first);
    link.serial->device = name;
    const auto plate = openPlate(link, 1.0, 0.1);
    first.reset();
    EXPECT_FALSE(plate->read());
    EXPECT_THAT(plate->lastError(), HasSubstr("gone"));
    const auto start = Clock::now();
    EXPECT_FALSE(plate->heaterOff());
    EXPECT_LT(since(start), 0.3);
    std::filesystem::remove(name);
    std::filesystem::create_symlink(device.path(), name);
    EXPECT_TRUE(readUntilBack(*plate)) << plate->lastError();
    EXPECT_EQ(holding(12), 30);
    std::filesystem::remove(name);
}

TEST_F(SerialPlate, OneDeadDeviceOfTwoDoesNotKeepTheOtherOnesHeaterOn)
{
    SerialDevice two({2, 3});
    PlateLink link = linkTo(two);
    link.watchdogS.reset();
    link.sensor.unit = link.counter->unit = 2;
    link.duty = field(Coil, 4, 1, 3);
    link.enable = field(Coil, 5, 1, 3);
    const auto plate = openPlate(link, 1.0, 0.1);
    ASSERT_TRUE(plate->setEnable(true) && plate->setDuty(1)) << plate->lastError();
    EXPECT_EQ(two.get(3, Coil, 4), 1);
    EXPECT_EQ(two.get(3, Coil, 5), 1);
    const auto reading = plate->read();
    ASSERT_TRUE(reading);
    EXPECT_EQ(reading->duty, 1);
    EXPECT_EQ(reading->enabled, true);
    two.deadUnit = 2;
    EXPECT_FALSE(plate->read());
    EXPECT_TRUE(plate->heaterOff()) << plate->lastError();
    EXPECT_EQ(two.get(3, Coil, 4), 0);
    EXPECT_EQ(two.get(3, Coil, 5), 0);
    for (int unit : two.askedUnits())
        EXPECT_TRUE(unit == 2 || unit == 3);
    two.deadUnit = 0;
    EXPECT_TRUE(readUntilBack(*plate));
}

TEST_F(SerialPlate, SecondOpenerOfTheLineIsRefusedInWords)
{
    const auto plate = open();
    try {
        openPlate(linkTo(device), 1.0, 0.1);
        FAIL() << "opened twice";
    } catch (const LinkError& refused) {
        EXPECT_THAT(refused.what(), HasSubstr("another program has " + device.path() + " open"));
    }
    EXPECT_TRUE(plate->read()) << plate->lastError(); // undisturbed
}

TEST_F(SerialPlate, LineIsFreeAgainOnceThePlateIsClosed)
{
    open();
    EXPECT_NO_THROW(open());
}

TEST_F(SerialPlate, LineThatCannotBeIsRefusedInWords)
{
    const auto refusal = [&](auto change) -> std::string {
        PlateLink link = linkTo(device);
        change(*link.serial);
        try {
            openPlate(link, 1.0, 0.1);
        } catch (const LinkError& refused) {
            return refused.what();
        }
        return "opened";
    };
    EXPECT_THAT(refusal([](SerialLine& line) { line.baud = 12345; }), HasSubstr("12345 baud is no rate"));
    EXPECT_THAT(
        refusal([](SerialLine& line) { line.device = "/dev/ttyNowhere"; }),
        AllOf(HasSubstr("there is no serial device /dev/ttyNowhere"), HasSubstr("/dev/serial/by-id")));
    EXPECT_THAT(refusal([](SerialLine& line) { line.device = "/dev/null"; }), HasSubstr("no serial line"));
    EXPECT_THAT(refusal([](SerialLine& line) { line.direction = SendDirection::RtsHigh; }),
                HasSubstr("no RTS output"));
    EXPECT_THAT(refusal([](SerialLine& line) { line.direction = SendDirection::Kernel; }),
                HasSubstr("does not turn an RS-485 line round"));
    EXPECT_EQ(refusal([](SerialLine&) {}), "opened"); // the refusals left the line free
}

TEST_F(SerialPlate, NobodyIsAskedAsUnitZero)
{
    ModbusLine line(linkTo(device), 1);
    ASSERT_TRUE(line.open(1, 0.1));
    std::uint16_t word = 0;
    EXPECT_FALSE(line.read({Holding, 0, 1, 0}, &word));
    EXPECT_FALSE(line.write({Holding, 0, 1, 0}, &word));
    EXPECT_THAT(line.error(), HasSubstr("unit 0 cannot be asked"));
    EXPECT_EQ(device.requests, 0);
}

TEST_F(SerialPlate, IsTurnedOffThoughItRefusesEveryRead)
{
    device.set(1, Holding, 10, 500);
    device.missing = 0;
    EXPECT_THROW(open(), LinkError);
    const auto plate = openToTurnOff(linkTo(device), 1.0, 0.1);
    EXPECT_TRUE(plate->heaterOff()) << plate->lastError();
    EXPECT_EQ(holding(10), 0);
}

} // namespace
