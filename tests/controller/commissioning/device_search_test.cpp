#include "commissioning/device_search.h"

#include "link/line_silence.h"
#include "served_plate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <netinet/in.h>
#include <sys/socket.h>

using namespace stripwright;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

namespace {

class Searching : public testing::Test {
protected:
    Searching()
    {
        search.tcpAnswerS = 0.1;
        search.stopped = [] { return false; };
        search.tellStep = [this](const std::string& text) { steps.push_back(text); };
        search.tellFound = [this](const FoundDevice& device) { found.push_back(device); };
    }

    DeviceSearchResult over(const ServedPlate& plate, std::vector<int> units)
    {
        search.line = {};
        search.line.host = "127.0.0.1";
        search.line.port = plate.port();
        search.units = std::move(units);
        return searchDevices(search);
    }
    DeviceSearchResult onSerial(const std::string& device, std::vector<int> units)
    {
        search.line = {};
        search.line.serial.emplace();
        search.line.serial->device = device;
        search.units = std::move(units);
        return searchDevices(search);
    }
    std::vector<int> unitsFound() const
    {
        std::vector<int> units;
        for (const FoundDevice& device : found)
            units.push_back(device.link.unit);
        return units;
    }

    DeviceSearch search;
    std::vector<std::string> steps;
    std::vector<FoundDevice> found;
};

TEST_F(Searching, FindsEveryDeviceBehindAGatewayAndNoneWhereItSaysNobodyIs)
{
    ServedPlate plate({}, "modules");
    EXPECT_EQ(over(plate, tcpUnits()).found, 2);
    EXPECT_THAT(unitsFound(), ElementsAre(2, 3));
    EXPECT_EQ(found.front().link.port, plate.port());
}

TEST_F(Searching, ReadsFewerRegistersFromADeviceThatHasNoMore)
{
    SimulatedPlateOptions withoutTruth;
    withoutTruth.tellsTruth = false;
    ServedPlate plate(withoutTruth, "modules");
    over(plate, {2, 3});
    ASSERT_EQ(found.size(), 2u);
    EXPECT_EQ(found[0].says, "answers");
    EXPECT_EQ(found[0].input.words.size(), 2u); // plate and strip
    EXPECT_THAT(found[0].holding.words, IsEmpty());
    EXPECT_THAT(found[1].holding.words, ElementsAre(30)); // 3 s in tenths
}

TEST_F(Searching, ShowsTheHoldingRegistersOfAPlateDrivenByItsSetpointBesideItsReadings)
{
    SimulatedPlateOptions options;
    options.drive = DriveKind::Setpoint;
    ServedPlate plate(options); // its set-point is holding register 1, and there is no 0
    over(plate, {1});
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].input.from, 0);
    EXPECT_FALSE(found[0].input.words.empty());
    EXPECT_EQ(found[0].holding.from, 1);
    ASSERT_GE(found[0].holding.words.size(), 2u);
    EXPECT_EQ(found[0].holding.words[1], 30); // watchdog: 3 s in tenths
}

TEST_F(Searching, LooksForRegistersWhereTablesOftenBegin)
{
    ServedPlate plate({}, "sixteenths"); // nothing from register 0 on
    EXPECT_EQ(over(plate, {17}).found, 1);
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].says, "answers");
    EXPECT_EQ(found[0].input.from, 1000);
    EXPECT_FALSE(found[0].input.words.empty());
}

TEST_F(Searching, DeviceThatOnlyRefusesIsOneToo)
{
    SimulatedPlateOptions options;
    options.faults = {{.fault = Fault::Exceptions, .value = 2}};
    ServedPlate plate(options);
    EXPECT_EQ(over(plate, {1}).found, 1);
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].says, "refuses (02 illegal data address)");
    EXPECT_THAT(found[0].holding.words, IsEmpty());
}

TEST_F(Searching, LookingForThemEndsWithTheSearch)
{
    SimulatedPlateOptions options;
    options.faults = {{.fault = Fault::Exceptions, .value = 2}};
    const ServedPlate plate(options, "plain", RtuServer::Settings{9600, SerialFrame::F8N1});
    search.bauds = {9600};
    search.frames = {SerialFrame::F8N1};
    search.longestS = 0.5;
    const double fromS = monotonicS();
    EXPECT_THAT(onSerial(plate.tty(), {1}).refusals, ElementsAre(HasSubstr("took longer than")));
    EXPECT_LT(monotonicS() - fromS, 2.5); // 8 tries of each table are not cut short
}

TEST_F(Searching, PortThatIsClosedIsSaidInWords)
{
    search.line.host = "127.0.0.1";
    search.line.port = 1;
    search.units = tcpUnits();
    const auto result = searchDevices(search);
    EXPECT_EQ(result.found, 0);
    EXPECT_THAT(result.refusals,
                ElementsAre(testing::AllOf(HasSubstr("connection refused"), HasSubstr("502"))));
}

TEST_F(Searching, HostThatAcceptsAndNeverAnswersEndsAtItsTime)
{
    const int listening = socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    ASSERT_EQ(bind(listening, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
    ASSERT_EQ(listen(listening, 400), 0);
    socklen_t size = sizeof address;
    getsockname(listening, reinterpret_cast<sockaddr*>(&address), &size);
    search.line.host = "127.0.0.1";
    search.line.port = ntohs(address.sin_port);
    search.units = tcpUnits();
    search.longestS = 0.5; // 249 units of 0.1 s
    const auto result = searchDevices(search);
    close(listening);
    EXPECT_EQ(result.found, 0);
    EXPECT_THAT(result.refusals, ElementsAre(HasSubstr("took longer than")));
}

TEST_F(Searching, IsStoppedBetweenTwoUnits)
{
    ServedPlate plate({}, "modules");
    search.stopped = [this] { return !found.empty(); };
    over(plate, tcpUnits());
    EXPECT_THAT(unitsFound(), ElementsAre(2));
}

TEST_F(Searching, FindsBaudFrameAndUnitOfASerialLineAndStopsThere)
{
    const ServedPlate plate({}, "modules", RtuServer::Settings{115200, SerialFrame::F8N1});
    search.bauds = {115200, 9600};
    search.frames = {SerialFrame::F8N1, SerialFrame::F8N2};
    const auto result = onSerial(plate.tty(), {1, 2, 3, 4});
    EXPECT_EQ(result.found, 2);
    EXPECT_THAT(unitsFound(), ElementsAre(2, 3));
    ASSERT_FALSE(found.empty());
    EXPECT_EQ(placeOf(found.front().link), plate.tty() + " at 115200 8N1");
    EXPECT_EQ(steps.size(), 4u);
}

TEST_F(Searching, BytesThatAreNoFrameAreReported)
{
    SimulatedPlateOptions options;
    options.faults = {{Fault::JunkBytes}};
    const ServedPlate plate(options, "plain", RtuServer::Settings{9600, SerialFrame::F8N1});
    search.bauds = {9600};
    search.frames = {SerialFrame::F8N1};
    EXPECT_THAT(onSerial(plate.tty(), {1}).refusals,
                ElementsAre("at 9600 8N1 something answers that is no Modbus frame"));
}

TEST_F(Searching, FrameThatTheDeviceCannotBeSetToIsLeftOut)
{
    // A pseudo-terminal that is open elsewhere takes no parity.
    const ServedPlate plate({}, "plain", RtuServer::Settings{115200, SerialFrame::F8N1});
    search.bauds = {115200};
    search.frames = {SerialFrame::F8E1, SerialFrame::F8N1};
    EXPECT_EQ(onSerial(plate.tty(), {1}).found, 1);
}

TEST_F(Searching, DeviceThatIsNotThereIsSaidInWords)
{
    search.bauds = likelyBauds();
    search.frames = likelyFrames();
    EXPECT_THAT(onSerial("/dev/ttyNotThere", {1}).refusals, ElementsAre(HasSubstr("no serial device")));
    EXPECT_THAT(onSerial("/dev/null", {1}).refusals, ElementsAre(HasSubstr("is no serial line")));
}

TEST(DeviceSearch, TriesEveryUnitAndEverySettingOfALineByDefault)
{
    EXPECT_EQ(tcpUnits().size(), 247u + 2);
    std::vector<int> bauds = likelyBauds();
    std::sort(bauds.begin(), bauds.end());
    EXPECT_EQ(bauds, serialBauds());
    EXPECT_EQ(likelyFrames().size(), 4u);
}

} // namespace
