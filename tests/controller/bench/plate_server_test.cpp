#include "bench/plate_clock.h"
#include "bench/tcp_server.h"
#include "served_plate.h"

#include <arpa/inet.h>
#include <chrono>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <modbus.h>
#include <poll.h>
#include <random>
#include <sys/socket.h>
#include <thread>
#include <unistd.h>

using namespace stripwright;

namespace {

class RawClient {
public:
    explicit RawClient(int port) : fd_(::socket(AF_INET, SOCK_STREAM, 0))
    {
        sockaddr_in to{};
        to.sin_family = AF_INET;
        to.sin_port = htons(static_cast<std::uint16_t>(port));
        to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        connected_ = ::connect(fd_, reinterpret_cast<sockaddr*>(&to), sizeof to) == 0;
    }
    ~RawClient() { ::close(fd_); }
    bool connected() const { return connected_; }
    bool send(const std::vector<std::uint8_t>& bytes)
    {
        return ::send(fd_, bytes.data(), bytes.size(), MSG_NOSIGNAL) == static_cast<ssize_t>(bytes.size());
    }
    // One answer; empty: closed or silent for 2 s.
    std::vector<std::uint8_t> answer()
    {
        pollfd wait{fd_, POLLIN, 0};
        std::vector<std::uint8_t> bytes(300);
        const ssize_t got = ::poll(&wait, 1, 2000) > 0 ? ::recv(fd_, bytes.data(), bytes.size(), 0) : 0;
        bytes.resize(static_cast<size_t>(std::max<ssize_t>(got, 0)));
        return bytes;
    }
    // Exception code for a request of this unit and PDU; 0: none.
    int exceptionFor(std::uint8_t unit, const std::vector<std::uint8_t>& pdu)
    {
        std::vector<std::uint8_t> frame = {0, 1, 0, 0, 0, static_cast<std::uint8_t>(pdu.size() + 1), unit};
        frame.insert(frame.end(), pdu.begin(), pdu.end());
        send(frame);
        const auto bytes = answer();
        return bytes.size() == 9 && (bytes[7] & 0x80) ? bytes[8] : 0;
    }

private:
    int fd_;
    bool connected_ = false;
};

TEST(PlateServer, ItsOwnLinkFileOpensItAndReadsWhatThePlateShows)
{
    ServedPlate serving;
    const PlateLink link = readPlateLink(toJsonText(serving.link()), "own link");
    const auto plate = openPlate(link);
    ASSERT_TRUE(plate->setDuty(0.375));
    EXPECT_TRUE(plate->setFan(true));
    EXPECT_TRUE(plate->setStripLifted(true));
    std::optional<PlateReading> reading;
    for (int i = 0; i < 200; ++i) {
        reading = plate->read();
        ASSERT_TRUE(reading) << plate->lastError();
    }
    EXPECT_EQ(reading->duty, 0.375);
    EXPECT_FALSE(reading->watchdogTripped);
    SimulatedPlate& truth = serving.plate();
    EXPECT_EQ(truth.dutyCommand(), 0.375);
    EXPECT_TRUE(truth.fanOn());
    EXPECT_TRUE(truth.stripLifted());
    ASSERT_EQ(reading->extraCount, static_cast<int>(truth.truthNames().size()));
    EXPECT_NEAR(reading->sensorC, truth.shown().sensorC, 0.5);
    EXPECT_NEAR(reading->extraC[0], truth.truthC("truth_plate_C"), 0.2);
    EXPECT_GT(reading->extraC[0], 25.001);
}

TEST(PlateServer, SetpointPlateIsDrivenByItsSetpoint)
{
    SimulatedPlateOptions options;
    options.drive = DriveKind::Setpoint;
    ServedPlate serving(options, "plain");
    const auto plate = openPlate(serving.link());
    ASSERT_TRUE(plate->setSetpointC(181.5)) << plate->lastError();
    EXPECT_EQ(plate->read()->setpointC, 181.5);
    // Its loop acts at its next sample, on the server's own clock.
    double duty = 0;
    for (const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(10);
         duty <= 0.5 && std::chrono::steady_clock::now() < until;)
        duty = plate->read()->duty.value();
    EXPECT_GT(duty, 0.5);
    EXPECT_TRUE(plate->heaterOff());
    EXPECT_EQ(serving.plate().setpointC(), 0);
}

TEST(PlateServer, OpenSensorIsASensorFaultOverTheLink)
{
    SimulatedPlateOptions options;
    options.faults = {{Fault::SensorOpen, 0}};
    ServedPlate serving(options);
    EXPECT_TRUE(openPlate(serving.link())->read()->sensorFault);
}

TEST(PlateServer, IgnoredWriteIsAcknowledgedButNotConfirmed)
{
    SimulatedPlateOptions options;
    options.faults = {{Fault::WriteIgnored, 0}};
    ServedPlate serving(options);
    const auto plate = openPlate(serving.link()); // its watchdog time already stands
    EXPECT_FALSE(plate->setDuty(0.5));
    EXPECT_THAT(plate->lastError(), testing::HasSubstr("read back 0"));
    EXPECT_EQ(serving.plate().dutyCommand(), 0);
}

TEST(PlateServer, SilentPlateIsConnectedButCannotBeOpened)
{
    SimulatedPlateOptions options;
    options.faults = {{Fault::Silent, 0}};
    ServedPlate serving(options);
    EXPECT_THROW(openPlate(serving.link(), 1.0, 0.05), LinkError);
}

TEST(PlateServer, RefusesWhatItDoesNotHaveByException)
{
    ServedPlate serving;
    RawClient client(serving.port());
    ASSERT_TRUE(client.connected());
    const std::vector<std::uint8_t> readSensor = {4, 0, 0, 0, 1};
    EXPECT_EQ(client.exceptionFor(1, readSensor), 0);
    EXPECT_EQ(client.exceptionFor(2, readSensor), 0x0B);                   // no such unit
    EXPECT_EQ(client.exceptionFor(1, {4, 0x10, 0, 0, 1}), 2);              // no such input register
    EXPECT_EQ(client.exceptionFor(1, {3, 0, 3, 0, 1}), 2);                 // no such holding register
    EXPECT_EQ(client.exceptionFor(1, {2, 0, 0, 0, 1}), 2);                 // no discrete inputs
    EXPECT_EQ(client.exceptionFor(1, {4, 0, 0, 0, 126}), 3);               // too many
    EXPECT_EQ(client.exceptionFor(1, {0x2B, 14, 1, 0}), 1);                // no such function
    EXPECT_EQ(client.exceptionFor(1, {6, 0, 0, 0x27, 0x11}), 3);           // duty 1.0001
    EXPECT_EQ(client.exceptionFor(1, {6, 0, 1, 0, 100}), 2);               // the other drive's register
    EXPECT_EQ(client.exceptionFor(1, {6, 0, 2, 0, 0}), 3);                 // watchdog off
    EXPECT_EQ(client.exceptionFor(1, {5, 0, 0, 0x12, 0x34}), 3);           // neither on nor off
    EXPECT_EQ(client.exceptionFor(1, {16, 0, 0, 0, 2, 4, 0, 1, 0, 1}), 2); // duty and set-point at once
    EXPECT_EQ(client.exceptionFor(1, {16, 0, 0, 0, 1, 200, 0, 1}), 3);     // byte count and length disagree
    EXPECT_EQ(client.exceptionFor(1, readSensor), 0);
    SimulatedPlate& plate = serving.plate();
    EXPECT_EQ(plate.dutyCommand(), 0);
    EXPECT_EQ(plate.watchdogSeconds(), 3);
}

TEST(PlateServer, RequestThatArrivesInPiecesIsAnsweredAndOthersAreServedMeanwhile)
{
    ServedPlate serving;
    RawClient slow(serving.port());
    ASSERT_TRUE(slow.send({0, 9, 0, 0, 0, 6, 1}));
    const auto plate = openPlate(serving.link());
    EXPECT_TRUE(plate->read());
    ASSERT_TRUE(slow.send({4, 0, 0, 0, 1}));
    const auto bytes = slow.answer();
    ASSERT_EQ(bytes.size(), 11u);
    EXPECT_EQ(bytes[1], 9);
    EXPECT_NEAR(bytes[10] | bytes[9] << 8, 250, 3); // 25.0 C and its noise
}

TEST(PlateServer, RequestShorterThanItsFunctionNeedsIsRefused)
{
    ServedPlate serving;
    RawClient client(serving.port());
    EXPECT_EQ(client.exceptionFor(1, {4, 0, 0, 0}), 3);
    EXPECT_EQ(client.exceptionFor(1, {6, 0, 0, 0x13}), 3);
    EXPECT_EQ(client.exceptionFor(1, {16, 0, 0, 0, 1, 2, 0x13}), 3);
    EXPECT_EQ(client.exceptionFor(1, {16, 0, 0}), 3);
    EXPECT_EQ(serving.plate().dutyCommand(), 0);
}

TEST(PlateServer, FrameThatIsNoModbusFrameDropsItsSenderUnanswered)
{
    ServedPlate serving;
    const std::vector<std::vector<std::uint8_t>> frames = {
        {0, 1, 0, 1, 0, 6, 1, 4, 0, 0, 0, 1},   // another protocol
        {0, 1, 0, 0, 0, 0, 1, 4, 0, 0, 0, 1},   // no length
        {0, 1, 0, 0, 0, 1, 1, 4, 0, 0, 0, 1},   // unit without a function
        {0, 1, 0, 0, 0, 255, 1, 4, 0, 0, 0, 1}, // longer than a frame can be
    };
    for (const auto& frame : frames) {
        RawClient client(serving.port());
        client.send(frame);
        const auto begin = std::chrono::steady_clock::now();
        EXPECT_TRUE(client.answer().empty());
        EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(1)) << "kept, not dropped";
    }
}

TEST(PlateServer, JunkDropsItsSenderAndNobodyElse)
{
    ServedPlate serving;
    const auto plate = openPlate(serving.link());
    std::mt19937 random(7);
    for (int round = 0; round < 100; ++round) {
        RawClient client(serving.port());
        ASSERT_TRUE(client.connected());
        std::vector<std::uint8_t> junk(1 + random() % 600);
        for (auto& byte : junk)
            byte = static_cast<std::uint8_t>(random());
        client.send(junk);
        ASSERT_TRUE(plate->read()) << plate->lastError();
    }
}

TEST(PlateServer, AnyRequestInAGoodFrameIsAnsweredOrDropped)
{
    ServedPlate serving;
    std::mt19937 random(11);
    auto client = std::make_unique<RawClient>(serving.port());
    int answered = 0;
    for (int round = 0; round < 3000; ++round) {
        std::vector<std::uint8_t> pdu(1 + random() % 253);
        for (auto& byte : pdu)
            byte = static_cast<std::uint8_t>(random() % 4 ? random() % 4 : random());
        pdu[0] = static_cast<std::uint8_t>(random() % 24);
        std::vector<std::uint8_t> frame = {0, 1, 0, 0, 0, static_cast<std::uint8_t>(pdu.size() + 1), 1};
        frame.insert(frame.end(), pdu.begin(), pdu.end());
        if (client->send(frame) && !client->answer().empty())
            ++answered;
        else
            client = std::make_unique<RawClient>(serving.port());
    }
    EXPECT_EQ(answered, 3000);
    EXPECT_TRUE(openPlate(serving.link())->read());
}

TEST(PlateServer, ListensOnTheLoopbackOnlyAndRefusesATakenPort)
{
    SimulatedPlate plate(testSheet());
    RegisterDevice device(plate, *plateMap("plain", DriveKind::Duty));
    TcpServer server(device, 0);
    EXPECT_GT(server.port(), 0);
    EXPECT_THROW(TcpServer(device, server.port()), std::system_error);
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(static_cast<std::uint16_t>(server.port()));
    inet_pton(AF_INET, "127.0.0.2", &to.sin_addr);
    const int fd = ::socket(AF_INET, SOCK_STREAM, 0);
    EXPECT_NE(::connect(fd, reinterpret_cast<sockaddr*>(&to), sizeof to), 0);
    ::close(fd);
}

TEST(PlateClock, WaitsForTheNextStepAndDropsABacklogOfMoreThanASecond)
{
    PlateClock slow(0.01); // a step of 0.05 s is due every 5 s
    EXPECT_FALSE(slow.isDue(0));
    EXPECT_EQ(slow.waitMs(0), 1000); // at most
    PlateClock clock(60);
    EXPECT_FALSE(clock.dropBacklog(-30)); // half a second behind
    EXPECT_TRUE(clock.isDue(-30));
    EXPECT_EQ(clock.waitMs(-30), 0);
    EXPECT_TRUE(clock.dropBacklog(-200));
    EXPECT_FALSE(clock.isDue(-200));
}

} // namespace
