#include "child_program.h"
#include "link/plate_link.h"
#include "rtu_client.h"
#include "scratch_folder.h"
#include "test_sheet.h"

#include <chrono>
#include <csignal>
#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <sys/prctl.h>
#include <thread>
#include <unistd.h>

using namespace stripwright;

namespace {

class PlateProgram : public testing::Test {
protected:
    std::string sheetFile()
    {
        const std::string path = scratch_ / "bar.bench.json";
        std::ofstream(path) << toJson(testSheet()).dump();
        return path;
    }

    void start(const std::vector<std::string>& arguments)
    {
        program_ = std::make_unique<ChildProgram>("stripwright-plate", arguments);
    }
    std::optional<int> exitCode() { return program_->exitCode(); }
    std::string output() const { return program_->output(); }
    std::string errors() const { return program_->errors(); }

    ScratchFolder scratch_;
    std::unique_ptr<ChildProgram> program_;
};

bool appears(const std::string& file)
{
    return waitFor([&] { return std::filesystem::exists(file); });
}

TEST_F(PlateProgram, HeatsOverItsOwnLinkFileAndEndsOnSigterm)
{
    const std::string linkFile = scratch_ / "plate.json";
    start({"--tcp", "0", "--sheet", sheetFile(), "--speed", "40", "--link-out", linkFile});
    ASSERT_TRUE(appears(linkFile));
    const PlateLink link = readPlateLink(readTextFile(linkFile), linkFile);
    EXPECT_EQ(output(), std::to_string(link.port) + "\n");
    const auto plate = openPlate(link);
    const double startC = plate->read().value().sensorC;
    ASSERT_TRUE(plate->setDuty(1)) << plate->lastError();
    double reachedC = startC;
    waitFor([&] {
        if (const auto reading = plate->read())
            reachedC = reading->sensorC;
        return reachedC >= startC + 20;
    });
    EXPECT_GE(reachedC, startC + 20);
    EXPECT_TRUE(plate->heaterOff());
    program_->signal(SIGTERM);
    EXPECT_EQ(exitCode(), 0);
}

TEST_F(PlateProgram, AnswersOnItsPseudoTerminalAndTakesItsLinkAway)
{
    const std::string tty = scratch_ / "tty";
    start({"--rtu", tty, "--baud", "115200", "--map", "modules", "--bare", "--without-truth", "--sheet",
           sheetFile()});
    ASSERT_TRUE(appears(tty));
    {
        RtuClient client(tty);
        const Bytes answer = client.ask(2, {4, 0, 0, 0, 2}, 9);
        EXPECT_TRUE(isRtuFrame(answer));
        EXPECT_EQ(client.ask(2, {4, 0, 0, 0, 3}, 5), rtuFrame(2, Bytes{0x84, 2})); // no truth behind the two
    }
    program_->signal(SIGTERM);
    EXPECT_EQ(exitCode(), 0);
    EXPECT_EQ(output(), tty + "\n");
    EXPECT_FALSE(std::filesystem::is_symlink(tty));
}

TEST_F(PlateProgram, PlantFileAndTruthMakeThePlate)
{
    const std::string plant = scratch_ / "cold.json", linkFile = scratch_ / "plate.json";
    std::ofstream(plant) << R"({"format": "stripwright-plant", "version": 1, "sensor_offset_K": -90})";
    start({"--tcp", "0", "--sheet", sheetFile(), "--plant", plant, "--truth", "power=0.5", "--link-out",
           linkFile});
    ASSERT_TRUE(appears(linkFile));
    PlateLink link = readPlateLink(readTextFile(linkFile), linkFile);
    link.sensorMinC = -100;
    EXPECT_NEAR(openPlate(link)->read()->sensorC, 25 - 90, 1);
}

TEST_F(PlateProgram, CutsItsHeaterWhenItsClientFallsSilent)
{
    const std::string linkFile = scratch_ / "plate.json";
    start({"--tcp", "0", "--sheet", sheetFile(), "--speed", "100", "--link-out", linkFile});
    ASSERT_TRUE(appears(linkFile));
    const auto plate = openPlate(readPlateLink(readTextFile(linkFile), linkFile));
    ASSERT_TRUE(plate->setDuty(1));
    std::this_thread::sleep_for(std::chrono::milliseconds(300)); // 30 s of plant time; the watchdog has 3 s
    EXPECT_TRUE(plate->read().value().watchdogTripped);
}

TEST_F(PlateProgram, EndsWithTheProcessThatStartedIt)
{
    const std::string linkFile = scratch_ / "plate.json", sheet = sheetFile();
    ASSERT_EQ(::prctl(PR_SET_CHILD_SUBREAPER, 1), 0);
    const pid_t parent = ::fork();
    if (parent == 0) {
        if (::fork() == 0)
            become("stripwright-plate",
                   {"--tcp", "0", "--sheet", sheet, "--exit-with-parent", "--link-out", linkFile});
        appears(linkFile);
        ::_exit(0);
    }
    ::waitpid(parent, nullptr, 0);
    ASSERT_TRUE(std::filesystem::exists(linkFile));
    int status = -1;
    EXPECT_TRUE(waitFor([&] { return ::waitpid(-1, &status, WNOHANG) > 0; }));
    EXPECT_EQ(exitCodeOf(status), 0);
}

TEST_F(PlateProgram, OutlivesTheProcessThatStartedItUntilItsClientHasLetGo)
{
    const std::string linkFile = scratch_ / "plate.json", sheet = sheetFile();
    ASSERT_EQ(::prctl(PR_SET_CHILD_SUBREAPER, 1), 0);
    int go[2];
    ASSERT_EQ(::pipe(go), 0);
    const pid_t parent = ::fork();
    if (parent == 0) {
        if (::fork() == 0)
            become("stripwright-plate",
                   {"--tcp", "0", "--sheet", sheet, "--exit-with-parent", "--link-out", linkFile});
        std::thread([] { ::pause(); }).detach(); // as a window that is killed has others
        char byte = 0;
        (void)!::read(go[0], &byte, 1);
        ::kill(::getpid(), SIGKILL);
    }
    ASSERT_TRUE(appears(linkFile));
    auto plate = openPlate(readPlateLink(readTextFile(linkFile), linkFile));
    ASSERT_TRUE(plate->setDuty(0.5));
    ASSERT_EQ(::write(go[1], "g", 1), 1);
    ::waitpid(parent, nullptr, 0);
    std::this_thread::sleep_for(std::chrono::milliseconds(1500));
    EXPECT_TRUE(plate->heaterOff()) << "sent and read back";
    plate.reset();
    int status = -1;
    EXPECT_TRUE(waitFor([&] { return ::waitpid(-1, &status, WNOHANG) > 0; }));
    EXPECT_EQ(exitCodeOf(status), 0);
}

TEST_F(PlateProgram, TakesTheSheetOutOfAPlanAndReportsPlaceOfItsProblems)
{
    const std::string plan = scratch_ / "bar.plan.json";
    nlohmann::json sheet = toJson(testSheet());
    std::ofstream(plan) << nlohmann::json{{"sheet", sheet}}.dump();
    const std::string linkFile = scratch_ / "plate.json";
    start({"--tcp", "0", "--sheet", plan, "--shelf", scratch_ / "no-shelf", "--link-out", linkFile});
    ASSERT_TRUE(appears(linkFile));
    program_->signal(SIGINT);
    EXPECT_EQ(exitCode(), 0);

    sheet["heat"] = "melt";
    std::ofstream(plan) << nlohmann::json{{"sheet", sheet}}.dump();
    start({"--tcp", "0", "--sheet", plan});
    EXPECT_EQ(exitCode(), 3);
    EXPECT_THAT(errors(), testing::HasSubstr("bar.plan.json: /sheet/heat: found \"melt\""));
}

TEST_F(PlateProgram, ExitCodesTellWhatIsWrong)
{
    start({"--tcp", "0", "--sheet", scratch_ / "none.bench.json"});
    EXPECT_EQ(exitCode(), 3);
    EXPECT_THAT(errors(), testing::HasSubstr("none.bench.json"));
    start({"--tcp", "0", "--sheet", sheetFile(), "--fault", "sensor-opne"});
    EXPECT_EQ(exitCode(), 2);
    EXPECT_THAT(errors(), testing::HasSubstr("expected one of sensor-open"));
    start({"--tcp", "0", "--rtu", scratch_ / "tty", "--sheet", sheetFile()});
    EXPECT_EQ(exitCode(), 2);
    start({"--sheet", sheetFile()});
    EXPECT_EQ(exitCode(), 2);
    start({"--tcp", "0", "--sheet", sheetFile(), "--map", "modules", "--drive", "setpoint"});
    EXPECT_EQ(exitCode(), 2);
    EXPECT_THAT(errors(), testing::HasSubstr("no set-point"));
    start({"--rtu", sheetFile(), "--sheet", sheetFile()});
    EXPECT_EQ(exitCode(), 1);
    EXPECT_THAT(errors(), testing::HasSubstr("is no serial port"));
    std::ofstream(scratch_ / "bad.json") << R"({"format": "stripwright-plant", "version": 1, "power": 2})";
    start({"--tcp", "0", "--sheet", sheetFile(), "--plant", scratch_ / "bad.json"});
    EXPECT_EQ(exitCode(), 3);
    EXPECT_THAT(errors(), testing::HasSubstr("bad.json: /power"));
    start({"--tcp", "0", "--sheet", sheetFile(), "--truth", "contact=x"});
    EXPECT_EQ(exitCode(), 2);
    start({"--tcp", "0", "--sheet", sheetFile(), "--link-out", scratch_ / "no-folder" / "plate.json"});
    EXPECT_EQ(exitCode(), 8);
}

TEST_F(PlateProgram, HelpNamesTruthFaultsAndRegisters)
{
    start({"--help"});
    EXPECT_EQ(exitCode(), 0);
    const std::string help = output();
    for (const char* part : {"contact 0.85", "losses 1.10", "power 0.95", "over-temperature", "watchdog_s",
                             "setpoint_C", "late-answer", "draught=VALUE", "--no-watchdog", "--trace",
                             "sixteenths", "own_loop_gain_factor", "--rtu"})
        EXPECT_THAT(help, testing::HasSubstr(part));
}

} // namespace
