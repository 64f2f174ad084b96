#include "rtu_client.h"
#include "served_plate.h"

#include <cmath>
#include <cstring>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <random>

using namespace stripwright;

namespace {

const Bytes readSensor = {4, 0, 0, 0, 1};
constexpr size_t sensorAnswer = 7; // unit, function, length, two bytes, CRC
constexpr RtuServer::Settings fast{115200, SerialFrame::F8N1, 0};

double secondsSince(std::chrono::steady_clock::time_point start)
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

// The check value that every table of CRCs gives for this one.
TEST(RtuFrame, CrcOfTheDigitsIsItsCheckValue)
{
    const std::string digits = "123456789";
    EXPECT_EQ(rtuCrc({reinterpret_cast<const std::uint8_t*>(digits.data()), digits.size()}), 0x4B37);
}

TEST(RtuFrame, IsOneOnlyWithItsOwnCrc)
{
    Bytes frame = rtuFrame(17, readSensor);
    ASSERT_EQ(frame.size(), readSensor.size() + 3);
    EXPECT_EQ(frame[0], 17);
    EXPECT_TRUE(isRtuFrame(frame));
    for (size_t i = 0; i < frame.size() * 8; ++i) {
        frame[i / 8] ^= static_cast<std::uint8_t>(1 << i % 8);
        EXPECT_FALSE(isRtuFrame(frame)) << i;
        frame[i / 8] ^= static_cast<std::uint8_t>(1 << i % 8);
    }
    EXPECT_FALSE(isRtuFrame(Bytes(3, 0)));
}

TEST(RtuTiming, CharactersAndSilencesAreThoseOfTheSpecification)
{
    const RtuTiming slow = rtuTiming(9600, SerialFrame::F8E1, 0);
    EXPECT_DOUBLE_EQ(slow.characterS, 11 / 9600.0);
    EXPECT_DOUBLE_EQ(slow.silenceS, 38.5 / 9600);
    EXPECT_EQ(slow.turnaroundS, slow.silenceS);
    EXPECT_DOUBLE_EQ(rtuTiming(9600, SerialFrame::F8N1, 0).characterS, 10 / 9600.0);
    EXPECT_DOUBLE_EQ(rtuTiming(9600, SerialFrame::F8N2, 0).characterS, 11 / 9600.0);
    EXPECT_DOUBLE_EQ(rtuTiming(19200, SerialFrame::F8E1, 0).silenceS, 38.5 / 19200);
    EXPECT_EQ(rtuTiming(38400, SerialFrame::F8E1, 0).silenceS, 0.00175);
    EXPECT_EQ(rtuTiming(38400, SerialFrame::F8E1, 0.02).turnaroundS, 0.02);
}

TEST(RtuServer, AnswersARequestWithTheReading)
{
    ServedPlate serving({}, "plain", fast);
    RtuClient client(serving.tty());
    const Bytes answer = client.ask(1, readSensor, sensorAnswer);
    ASSERT_EQ(answer.size(), sensorAnswer);
    EXPECT_TRUE(isRtuFrame(answer));
    EXPECT_EQ((Bytes{answer[0], answer[1], answer[2]}), (Bytes{1, 4, 2}));
    EXPECT_NEAR(answer[3] << 8 | answer[4], 250, 3); // 25.0 C and its noise
}

TEST(RtuServer, RefusesWhatItDoesNotHaveByException)
{
    ServedPlate serving({}, "plain", fast);
    RtuClient client(serving.tty());
    const auto exceptionFor = [&](const Bytes& pdu) {
        const Bytes answer = client.ask(1, pdu, 5);
        return isRtuFrame(answer) && answer.size() == 5 && (answer[1] & 0x80) ? answer[2] : 0;
    };
    EXPECT_EQ(exceptionFor({0x2B, 14, 1, 0}), 1);
    EXPECT_EQ(exceptionFor({4, 0x10, 0, 0, 1}), 2);
    EXPECT_EQ(exceptionFor({6, 0, 0, 0x27, 0x11}), 3); // duty 1.0001
}

TEST(RtuServer, PassesOverOtherUnitsAndDamagedFramesInSilence)
{
    ServedPlate serving({}, "plain", fast);
    RtuClient client(serving.tty());
    EXPECT_TRUE(client.ask(2, readSensor, 1, 0.1).empty());
    Bytes damaged = rtuFrame(1, readSensor);
    damaged[3] ^= 4;
    client.send(damaged);
    EXPECT_TRUE(client.receive(1, 0.1).empty());
    EXPECT_EQ(client.ask(1, readSensor, sensorAnswer).size(), sensorAnswer);
}

TEST(RtuServer, ObeysBroadcastsWithoutAnAnswer)
{
    ServedPlate serving({}, "modules", fast);
    RtuClient client(serving.tty());
    EXPECT_TRUE(client.ask(0, {5, 0, 2, 0xff, 0}, 1, 0.1).empty());
    EXPECT_TRUE(client.ask(0, readSensor, 1, 0.1).empty());
    EXPECT_TRUE(serving.plate().fanOn());
}

// 1200 baud: 3.5 characters are 29 ms, so that what is a pause does not hang on the machine's load.
TEST(RtuServer, FrameEndsWithThreeAndAHalfCharactersOfSilence)
{
    ServedPlate serving({}, "plain", RtuServer::Settings{1200, SerialFrame::F8N1, 0});
    RtuClient client(serving.tty());
    const Bytes frame = rtuFrame(1, readSensor), first(frame.begin(), frame.begin() + 4),
                second(frame.begin() + 4, frame.end());
    const auto pause = [&](int ms) {
        client.send(first);
        std::this_thread::sleep_for(std::chrono::milliseconds(ms));
        client.send(second);
    };
    bool answered = false; // a loaded machine may make a short pause long, but not each time
    for (int tries = 0; tries < 5 && !answered; ++tries) {
        pause(static_cast<int>(4 * 1000 * 10 / 1200 + 10));
        answered = client.receive(sensorAnswer, 0.4).size() == sensorAnswer;
    }
    EXPECT_TRUE(answered);

    pause(200);
    EXPECT_TRUE(client.receive(1, 0.8).empty());
}

TEST(RtuServer, AnswerTakesAsLongAsOnAWire)
{
    for (const auto& settings : {RtuServer::Settings{1200, SerialFrame::F8E1, 0},
                                 RtuServer::Settings{1200, SerialFrame::F8N1, 0.25}}) {
        ServedPlate serving({}, "plain", settings);
        RtuClient client(serving.tty());
        const RtuTiming timing = rtuTiming(settings.baud, settings.frame, settings.turnaroundS);
        const auto start = std::chrono::steady_clock::now();
        const Bytes answer = client.ask(1, {4, 0, 0, 0, 10}, 25);
        const double tookS = secondsSince(start), bytesTookS = secondsSince(client.firstByte);
        ASSERT_TRUE(isRtuFrame(answer));
        const double wantedS = (8 + 25) * timing.characterS + timing.turnaroundS;
        EXPECT_GE(tookS, wantedS);
        EXPECT_LT(tookS, wantedS + 0.1);
        EXPECT_GT(bytesTookS, 24 * timing.characterS - 0.1);
    }
}

TEST(RtuServer, JunkIsNeverAnsweredAndTheNextRequestIs)
{
    ServedPlate serving({}, "plain", fast);
    RtuClient client(serving.tty());
    std::mt19937 random(5);
    for (int round = 0; round < 50; ++round) {
        Bytes junk(1 + random() % 600);
        for (auto& byte : junk)
            byte = static_cast<std::uint8_t>(random());
        client.send(junk);
        ASSERT_TRUE(client.receive(1, 0.005 + static_cast<double>(junk.size()) * 1e-4).empty()) << round;
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
        ASSERT_EQ(client.ask(1, readSensor, sensorAnswer).size(), sensorAnswer) << round;
    }
}

TEST(RtuServer, FrameWithAByteTooManyIsNone)
{
    ServedPlate serving({}, "plain", fast);
    RtuClient client(serving.tty());
    Bytes pdu(longestRtuFrame - 3);
    pdu[0] = 16;
    Bytes frame = rtuFrame(1, pdu);
    client.send(frame);
    EXPECT_EQ(client.receive(5).size(), 5u); // refused, but a frame
    frame.push_back(0);
    client.send(frame);
    EXPECT_TRUE(client.receive(1, 0.1).empty());
}

TEST(RtuServer, ServesAClientThatComesAfterAnotherHasGone)
{
    ServedPlate serving({}, "plain", fast);
    for (int round = 0; round < 3; ++round) {
        RtuClient client(serving.tty());
        EXPECT_EQ(client.ask(1, readSensor, sensorAnswer).size(), sensorAnswer);
    }
}

TEST(RtuServer, LinkNamesTheLine)
{
    ServedPlate serving({}, "modules", RtuServer::Settings{57600, SerialFrame::F8E1, 0.08});
    const PlateLink link = serving.link();
    ASSERT_TRUE(link.serial);
    EXPECT_EQ(link.host, "");
    EXPECT_EQ(link.serial->device, serving.tty());
    EXPECT_EQ(link.serial->baud, 57600);
    EXPECT_EQ(link.serial->frame, SerialFrame::F8N2); // no parity on a pseudo-terminal
    EXPECT_GE(link.serial->turnroundS, 0.08);
}

} // namespace
