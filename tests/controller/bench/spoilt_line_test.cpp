#include "bench/live_faults.h"
#include "bench/plate_trace.h"
#include "rtu_client.h"
#include "served_plate.h"

#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

constexpr RtuServer::Settings fast{115200, SerialFrame::F8N1, 0};
const Bytes readTwo{4, 0, 0, 0, 2}, writeDuty{6, 0, 0, 0x0f, 0xa0};

SimulatedPlateOptions with(TimedFault fault)
{
    SimulatedPlateOptions options;
    options.faults = {fault};
    return options;
}

// 200 answers of which a tenth is damaged: outside 6 to 38 only once in 10^4.
TEST(SpoiltLine, DamagesTheSaidShareOfItsAnswers)
{
    ServedPlate serving(with({Fault::BitErrors, 0, 0.1}), "plain", fast);
    RtuClient client(serving.tty());
    int damaged = 0;
    for (int i = 0; i < 200; ++i) {
        const Bytes answer = client.ask(1, readTwo, 9);
        ASSERT_EQ(answer.size(), 9u);
        damaged += !isRtuFrame(answer);
    }
    EXPECT_GE(damaged, 6);
    EXPECT_LE(damaged, 38);
}

TEST(SpoiltLine, OverTcpADamagedAnswerDoesNotCome)
{
    ServedPlate serving(with({Fault::BitErrors, 0, 1}));
    EXPECT_THROW(openPlate(serving.link(), 1, 0.2), LinkError);
}

TEST(SpoiltLine, RefusesEverythingByItsCodeAndDoesNothing)
{
    ServedPlate serving(with({Fault::Exceptions, 0, 6}), "plain", fast);
    {
        RtuClient client(serving.tty());
        EXPECT_EQ(client.ask(1, readTwo, 5), rtuFrame(1, Bytes{0x84, 6}));
        EXPECT_EQ(client.ask(1, writeDuty, 5), rtuFrame(1, Bytes{0x86, 6}));
    }
    EXPECT_EQ(serving.plate().dutyCommand(), 0);
}

TEST(SpoiltLine, TricklesByteByByte)
{
    for (const bool serial : {true, false}) {
        ServedPlate serving(with({Fault::Trickle}), "plain", serial ? std::optional(fast) : std::nullopt);
        if (!serial) {
            EXPECT_THROW(openPlate(serving.link(), 1, 0.2), LinkError);
            continue;
        }
        RtuClient client(serving.tty());
        const auto start = std::chrono::steady_clock::now();
        EXPECT_TRUE(isRtuFrame(client.ask(1, {4, 0, 0, 0, 1}, 7)));
        EXPECT_GE(std::chrono::steady_clock::now() - start, std::chrono::milliseconds(600));
    }
}

TEST(SpoiltLine, UnpluggedHangsUpTheTerminalAndRefusesConnections)
{
    ServedPlate serial(with({Fault::Unplugged, 0.2}), "plain", fast);
    {
        RtuClient client(serial.tty());
        EXPECT_EQ(client.ask(1, readTwo, 9).size(), 9u);
        for (int i = 0; i < 20; ++i)
            client.ask(1, readTwo, 9, 0.02);
        EXPECT_TRUE(client.ask(1, readTwo, 9, 0.1).empty());
    }
    EXPECT_FALSE(std::filesystem::exists(serial.tty()));

    ServedPlate tcp(with({Fault::Unplugged, 2})); // a step for each round of requests: after opening
    const auto plate = openPlate(tcp.link());
    EXPECT_TRUE(plate->read());
    const auto start = std::chrono::steady_clock::now();
    while (plate->read() && std::chrono::steady_clock::now() - start < std::chrono::seconds(20)) {
    } // rounds, and so steps, are fewer than requests, on a busy machine by far
    EXPECT_FALSE(plate->read());
    EXPECT_THROW(openPlate(tcp.link(), 0.3, 0.1), LinkError);
}

TEST(SpoiltLine, WithoutWatchdogThereIsNoSuchRegisterAndNoSuchBit)
{
    for (const std::string& name : plateMapNames()) {
        const PlateMap map = withoutWatchdog(*plateMap(name, DriveKind::Duty));
        EXPECT_FALSE(map.link.watchdogS) << name;
        EXPECT_EQ(map.link.watchdogTrippedMask, 0) << name;
        SimulatedPlateOptions options;
        fitTo(options, map);
        EXPECT_FALSE(options.hasWatchdog) << name;
        SimulatedPlate plate(testSheet(), options);
        PlateLink link = linkTo(map, plate);
        link.host = "127.0.0.1";
        EXPECT_NO_THROW(readPlateLink(toJsonText(link), "link")) << name;
    }
}

std::vector<std::string> eventsOf(const std::string& file)
{
    std::istringstream lines(readTextFile(file));
    std::vector<std::string> events;
    std::string line;
    std::getline(lines, line);
    while (std::getline(lines, line))
        if (const std::string event = line.substr(line.rfind(',') + 1); !event.empty())
            events.push_back(event);
    return events;
}

TEST(PlateTrace, TellsFaultsFramesAndHeatInTheirOrderAlsoFramesThatAreNotHeard)
{
    ScratchFolder scratch;
    SimulatedPlate plate(testSheet(), with({Fault::Silent, 2}));
    RegisterDevice device(plate, *plateMap("plain", DriveKind::Duty));
    PlateTrace trace(scratch / "trace.csv", plate, device, testSheet());
    const auto go = [&](double seconds) {
        for (double t = 0; t < seconds - 1e-9; t += SimulatedPlate::stepS) {
            plate.advance(SimulatedPlate::stepS);
            trace.follow();
        }
    };
    device.answer(1, writeDuty);
    trace.follow();
    go(2);
    device.answer(1, Bytes{6, 0, 0, 0, 0});
    trace.follow();
    EXPECT_EQ(plate.dutyCommand(), 0.4) << "it was not heard";
    go(4);
    EXPECT_EQ(eventsOf(scratch / "trace.csv"),
              (std::vector<std::string>{"on frame", "heat on", "fault silent", "off frame", "watchdog",
                                        "heat off"}));
    const std::string text = readTextFile(scratch / "trace.csv");
    EXPECT_GT(std::count(text.begin(), text.end(), '\n'), 60) << "a row every 0.1 s";
}

TEST(LiveFaults, TakesLinesAsTheyComeAndPassesOverWhatIsNone)
{
    int ends[2];
    ASSERT_EQ(pipe(ends), 0);
    SimulatedPlate plate(testSheet());
    LiveFaults live(ends[0]);
    live.take(plate); // nothing there: does not wait
    const std::string text = "no-fault\nheater-open\nsil";
    ASSERT_EQ(::write(ends[1], text.data(), text.size()), static_cast<ssize_t>(text.size()));
    testing::internal::CaptureStderr();
    live.take(plate);
    EXPECT_THAT(testing::internal::GetCapturedStderr(), testing::HasSubstr("\"no-fault\" is no fault"));
    EXPECT_TRUE(plate.has(Fault::HeaterOpen));
    EXPECT_FALSE(plate.has(Fault::Silent));
    ASSERT_EQ(::write(ends[1], "ent\n", 4), 4);
    live.take(plate);
    EXPECT_TRUE(plate.has(Fault::Silent));
    ::close(ends[1]);
    live.take(plate);
    ::close(ends[0]);
}

} // namespace
