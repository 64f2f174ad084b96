// Our plate, asked by mbpoll: a Modbus master that knows nothing of us.

#include "served_plate.h"

#include <cstdio>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <map>
#include <sys/wait.h>

using namespace stripwright;

namespace {

struct Said {
    std::string text;
    int exitCode = -1;
    std::map<int, std::string> values; ///< "[0]: 	250", by address.
};

Said mbpoll(const std::string& arguments)
{
    Said said;
    FILE* out = popen(("mbpoll -0 -1 " + arguments + " 2>&1").c_str(), "r");
    char line[300];
    while (out && std::fgets(line, sizeof line, out)) {
        said.text += line;
        int address;
        char value[40];
        if (std::sscanf(line, "[%d]: %39s", &address, value) == 2)
            said.values[address] = value;
    }
    const int status = out ? pclose(out) : -1;
    said.exitCode = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return said;
}

enum class Line { Tcp, Rtu };

class Mbpoll : public testing::TestWithParam<Line> {
protected:
    void serve(const std::string& map, DriveKind drive = DriveKind::Duty)
    {
        SimulatedPlateOptions options;
        options.drive = drive;
        options.noiseK = 0;
        serving_ = std::make_unique<ServedPlate>(
            options, map,
            GetParam() == Line::Rtu ? std::optional(RtuServer::Settings{19200, SerialFrame::F8N1, 0})
                                    : std::nullopt);
    }
    Said ask(const std::string& arguments, const std::string& written = "")
    {
        return GetParam() == Line::Rtu
                   ? mbpoll("-m rtu -b 19200 -P none " + arguments + " " + serving_->tty() + " " + written)
                   : mbpoll("-p " + std::to_string(serving_->port()) + " " + arguments + " 127.0.0.1 " +
                            written);
    }

    std::unique_ptr<ServedPlate> serving_;
};

TEST_P(Mbpoll, ReadsWhatThePlateShows)
{
    serve("plain");
    const Said said = ask("-t 3 -r 0 -c 3");
    ASSERT_EQ(said.exitCode, 0) << said.text;
    EXPECT_EQ(said.values.at(0), "250"); // 25.0 C
    EXPECT_EQ(said.values.at(1), "0");
    EXPECT_GT(std::stoi(said.values.at(2)), 0);
    const Said truth = ask("-t 3:float -B -r 10");
    ASSERT_EQ(truth.exitCode, 0) << truth.text;
    EXPECT_NEAR(std::stod(truth.values.at(10)), 25, 0.01);
    EXPECT_EQ(serving_->plate().shown().sensorC, 25);
}

TEST_P(Mbpoll, WritesDutyWhichReadsBackAndThePlateObeys)
{
    serve("plain");
    EXPECT_EQ(ask("-t 4 -r 0", "3750").exitCode, 0);
    EXPECT_EQ(ask("-t 4 -r 0").values[0], "3750");
    EXPECT_EQ(ask("-t 0 -r 0", "1").exitCode, 0);
    EXPECT_EQ(ask("-t 0 -r 0 -c 2").values[0], "1");
    SimulatedPlate& plate = serving_->plate();
    EXPECT_EQ(plate.dutyCommand(), 0.375);
    EXPECT_TRUE(plate.fanOn());
}

// mbpoll's own order of floats is low word first.
TEST_P(Mbpoll, ReadsAndWritesFloatsWithTheLowWordFirst)
{
    serve("floats", DriveKind::Setpoint);
    EXPECT_EQ(ask("-t 4:float -r 0").values[0], "25");
    EXPECT_EQ(ask("-t 4:float -r 2", "181.5").exitCode, 0);
    EXPECT_EQ(ask("-t 4:float -r 2").values[2], "181.5");
    EXPECT_EQ(serving_->plate().setpointC(), 181.5);
}

TEST_P(Mbpoll, SwitchesTheCoilsOfTheRelayModule)
{
    serve("modules");
    EXPECT_EQ(ask("-a 2 -t 3 -r 0 -c 2").values[1], "250");
    EXPECT_EQ(ask("-a 3 -t 0 -r 0", "1 1").exitCode, 0);
    const Said coils = ask("-a 3 -t 0 -r 0 -c 4");
    EXPECT_EQ(coils.values.at(0) + coils.values.at(1) + coils.values.at(2) + coils.values.at(3), "1100");
    EXPECT_EQ(ask("-a 3 -t 1 -r 0").values[0], "0"); // the watchdog has not cut
    SimulatedPlate& plate = serving_->plate();
    EXPECT_EQ(plate.dutyCommand(), 1);
    EXPECT_TRUE(plate.enabled());
}

TEST_P(Mbpoll, SaysWhyAWrongAddressOrValueFailed)
{
    serve("plain");
    const Said address = ask("-t 3 -r 4096");
    EXPECT_NE(address.exitCode, 0);
    EXPECT_THAT(address.text, testing::HasSubstr("Illegal data address"));
    const Said value = ask("-t 4 -r 0", "10001"); // duty 1.0001
    EXPECT_THAT(value.text, testing::HasSubstr("Illegal data value"));
    EXPECT_EQ(serving_->plate().dutyCommand(), 0);
}

TEST_P(Mbpoll, SaysWhyAWrongUnitFailed)
{
    serve("plain");
    const Said said = ask("-a 9 -o 0.3 -t 3 -r 0");
    EXPECT_NE(said.exitCode, 0);
    EXPECT_THAT(said.text, testing::HasSubstr(GetParam() == Line::Rtu ? "Connection timed out"
                                                                      : "Target device failed to respond"));
}

INSTANTIATE_TEST_SUITE_P(Over, Mbpoll, testing::Values(Line::Tcp, Line::Rtu),
                         [](const auto& param) { return param.param == Line::Tcp ? "Tcp" : "Rtu"; });

} // namespace
