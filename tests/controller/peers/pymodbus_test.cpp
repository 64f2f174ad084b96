// Our controller's side on a plate that is not ours: a device made of pymodbus.

#include "child_program.h"
#include "link/plate_link.h"
#include "messages/messages.h"
#include "scratch_folder.h"

#include <cstring>
#include <gmock/gmock.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>

using namespace stripwright;

namespace {

enum class Line { Tcp, Rtu };

class Pymodbus : public testing::TestWithParam<Line> {
protected:
    void SetUp() override
    {
        std::vector<std::string> arguments = {TESTS_DIR "/controller/peers/pymodbus_plate.py"};
        if (GetParam() == Line::Tcp)
            arguments.emplace_back("tcp");
        else
            arguments.insert(arguments.end(), {"rtu", scratch_ / "tty"});
        device_ = std::make_unique<ChildProgram>("/usr/bin/python3", arguments);
        ASSERT_TRUE(waitFor([&] { return device_->output().ends_with("\n"); })) << device_->errors();
    }

    PlateLink link(double watchdogS = 3) const
    {
        using enum RegisterTable;
        using enum RegisterType;
        PlateLink link;
        link.name = "pymodbus plate";
        if (GetParam() == Line::Tcp) {
            link.host = "127.0.0.1";
            link.port = std::stoi(device_->output());
        } else {
            link.serial = SerialLine{.device = scratch_ / "tty", .baud = 19200, .frame = SerialFrame::F8N1};
        }
        link.sensor = {.table = Input, .address = 0, .type = Int16, .scale = 0.1};
        link.status = RegisterField{.table = Input, .address = 1, .type = Uint16};
        link.watchdogTrippedMask = 2;
        link.counter = RegisterField{.table = Input, .address = 2, .type = Uint16};
        link.duty = RegisterField{.table = Holding, .address = 0, .type = Uint16, .scale = 0.001};
        link.watchdogS = RegisterField{.table = Holding, .address = 1, .type = Uint16, .scale = 0.1};
        link.watchdogSeconds = watchdogS;
        link.fan = RegisterField{.table = Coil, .address = 0, .type = Uint16};
        link.enable = RegisterField{.table = Coil, .address = 1, .type = Uint16};
        return link;
    }
    std::unique_ptr<Plate> open(double watchdogS = 3) const
    {
        return openPlate(readPlateLink(toJsonText(link(watchdogS)), "pymodbus.plate.json"));
    }

    ScratchFolder scratch_;
    std::unique_ptr<ChildProgram> device_;
};

TEST_P(Pymodbus, IsReadDrivenAndTurnedOff)
{
    const auto plate = open();
    auto reading = plate->read();
    ASSERT_TRUE(reading) << plate->lastError();
    EXPECT_EQ(reading->sensorC, 25);
    EXPECT_EQ(reading->duty, 0);
    EXPECT_EQ(reading->enabled, false);

    ASSERT_TRUE(plate->setEnable(true)) << plate->lastError();
    ASSERT_TRUE(plate->setDuty(0.8)) << plate->lastError();
    // 900 W x 0.8 on 700 J/K at ten times the clock's speed: 5 K within half a second.
    EXPECT_TRUE(waitFor([&] {
        reading = plate->read();
        return reading && reading->sensorC > 30;
    }));
    EXPECT_EQ(reading->duty, 0.8);
    EXPECT_EQ(reading->enabled, true);
    EXPECT_GT(reading->counter, 0u);
    EXPECT_TRUE(plate->setFan(true)) << plate->lastError();

    ASSERT_TRUE(plate->heaterOff()) << plate->lastError();
    EXPECT_EQ(plate->read()->duty, 0);
    EXPECT_EQ(plate->read()->enabled, false);
}

TEST_P(Pymodbus, TakesTheWatchdogTimeAndCutsWhenNobodyAsks)
{
    const auto plate = open(0.5);
    ASSERT_TRUE(plate->setEnable(true) && plate->setDuty(0.5)) << plate->lastError();
    EXPECT_FALSE(plate->read()->watchdogTripped);
    usleep(800'000);
    EXPECT_TRUE(plate->read()->watchdogTripped);
    EXPECT_TRUE(plate->heaterOff());
    EXPECT_TRUE(waitFor([&] { return !plate->read()->watchdogTripped; }, 5));
}

// The last status a controller has sent; it sends one at least every second.
std::optional<Status> statusOf(const std::filesystem::path& path, double forS)
{
    const int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strcpy(address.sun_path, path.c_str());
    std::string text;
    if (connect(fd, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0) {
        waitFor(
            [&] {
                char bytes[4096];
                const ssize_t got = recv(fd, bytes, sizeof bytes, MSG_DONTWAIT);
                text.append(bytes, static_cast<size_t>(std::max<ssize_t>(got, 0)));
                return false;
            },
            forS);
    }
    close(fd);
    std::optional<Status> last;
    for (size_t start = 0, end; (end = text.find('\n', start)) != std::string::npos; start = end + 1) {
        std::string why;
        const auto message = decode(text.substr(start, end - start), why);
        if (const auto* status = message ? std::get_if<Status>(&*message) : nullptr)
            last = *status;
    }
    return last;
}

TEST_P(Pymodbus, WholeControllerBecomesReadyAndWatchesItIdle)
{
    std::ofstream(scratch_ / "link.json") << toJsonText(link());
    ChildProgram controller("stripwright-controller",
                            {"--plate", scratch_ / "link.json", "--runs", scratch_ / "runs.sqlite",
                             "--socket", scratch_ / "c.sock"});
    ASSERT_TRUE(waitFor([&] { return controller.output() == "ready\n"; })) << controller.errors();
    const auto status = statusOf(scratch_ / "c.sock", 1.5);
    ASSERT_TRUE(status);
    EXPECT_EQ(status->state, RunState::Idle);
    EXPECT_EQ(status->link, LinkState::Up) << status->linkText;
    EXPECT_EQ(status->sensorC, 25);
    EXPECT_EQ(status->heater, HeaterState::OffConfirmed);
    controller.signal(SIGTERM);
    EXPECT_EQ(controller.exitCode(), 0) << controller.errors();
}

INSTANTIATE_TEST_SUITE_P(Over, Pymodbus, testing::Values(Line::Tcp, Line::Rtu),
                         [](const auto& param) { return param.param == Line::Tcp ? "Tcp" : "Rtu"; });

} // namespace
