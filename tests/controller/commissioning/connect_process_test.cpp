#include "child_program.h"
#include "link/plate_link.h"
#include "materials/json_fields.h"
#include "scratch_folder.h"
#include "test_sheet.h"

#include <gmock/gmock.h>

using namespace stripwright;
using nlohmann::json;
using testing::HasSubstr;
using testing::StartsWith;

namespace {

/// Simulated plate and controller, each a process.
class Connecting : public testing::Test {
protected:
    void startPlate(const std::string& map, std::vector<std::string> more = {},
                    const std::string& speed = "20")
    {
        std::ofstream(folder / "bar.bench.json") << toJson(testSheet()).dump();
        std::vector<std::string> arguments{
            "--map",   map,   "--bare",     "--without-truth",    "--sheet", folder / "bar.bench.json",
            "--speed", speed, "--link-out", folder / "plate.json"};
        if (std::find(more.begin(), more.end(), "--rtu") == more.end())
            more.insert(more.end(), {"--tcp", "0"});
        arguments.insert(arguments.end(), more.begin(), more.end());
        plate = std::make_unique<ChildProgram>("stripwright-plate", arguments);
        ASSERT_TRUE(waitFor([&] { return std::filesystem::exists(folder / "plate.json"); }))
            << plate->errors();
        speed_ = speed;
        draft = json::parse(textOf(folder / "plate.json"));
        for (const char* key : {"type", "order", "scale", "offset"})
            draft["registers"]["sensor_C"].erase(key);
    }

    ChildProgram& connect(std::vector<std::string> more = {"--plate-C", "24"})
    {
        std::ofstream(folder / "draft.json") << draft.dump(1);
        std::vector<std::string> arguments{"connect",         folder / "draft.json",
                                           "--out",           folder / "out.json",
                                           "--plate-is-bare", "--json",
                                           "--speed",         speed_};
        arguments.insert(arguments.end(), more.begin(), more.end());
        controller = std::make_unique<ChildProgram>("stripwright-controller", arguments);
        return *controller;
    }

    std::vector<json> said(const std::string& kind) const
    {
        std::vector<json> lines;
        std::istringstream in(controller->output());
        for (std::string text; std::getline(in, text);)
            if (const json line = json::parse(text, nullptr, false);
                !line.is_discarded() && line["kind"] == kind)
                lines.push_back(line);
        return lines;
    }
    json end() const
    {
        const auto ends = said("end");
        return ends.size() == 1 ? ends.front() : json();
    }
    bool plateIsOff()
    {
        const auto opened = openPlate(readPlateLink(textOf(folder / "plate.json"), "plate.json"));
        const auto reading = opened->read();
        return reading && reading->duty == 0.0;
    }

    ScratchFolder folder;
    json draft;
    std::string speed_;
    std::unique_ptr<ChildProgram> plate, controller;
};

class EveryMap : public Connecting, public testing::WithParamInterface<std::string> {};

TEST_P(EveryMap, IsFoundAndProvenAndReadsLikeThePlatesOwnLink)
{
    startPlate(GetParam());
    ASSERT_EQ(connect().exitCode(), 0) << controller->output() << controller->errors();
    const PlateLink link = readPlateLink(textOf(folder / "out.json"), "out.json");
    EXPECT_GT(link.watchdogProvenS, 3);
    EXPECT_EQ(end()["heater_off"], true);
    EXPECT_EQ(end()["link"], json::parse(textOf(folder / "out.json")));
    EXPECT_TRUE(end()["refused"].empty());
    for (const json& proof : said("proof"))
        EXPECT_EQ(proof["ok"], true) << proof;
    EXPECT_EQ(said("proof").size(), link.enable ? 4u : 3u);
    const double trueC =
        openPlate(readPlateLink(textOf(folder / "plate.json"), "plate.json"))->read().value().sensorC;
    EXPECT_NEAR(openPlate(link)->read().value().sensorC, trueC, 0.5);
}

INSTANTIATE_TEST_SUITE_P(Connecting, EveryMap, testing::Values("plain", "floats", "sixteenths", "modules"),
                         [](const auto& map) { return map.param; });

TEST_F(Connecting, WorksOverASerialLine)
{
    startPlate("plain", {"--rtu", folder / "tty", "--baud", "115200", "--frame", "8N1"}, "5");
    ASSERT_EQ(connect().exitCode(), 0) << controller->output() << controller->errors();
    const PlateLink link = readPlateLink(textOf(folder / "out.json"), "out.json");
    EXPECT_EQ(link.serial.value().baud, 115200);
    EXPECT_EQ(link.sensor.scale, 0.1);
}

TEST_F(Connecting, SaysEveryCandidateWithWhatItReads)
{
    startPlate("plain");
    ASSERT_EQ(connect().exitCode(), 0);
    const auto lists = said("candidates");
    ASSERT_FALSE(lists.empty());
    EXPECT_EQ(lists.back()["sensible"], 1);
    bool moved = false;
    for (const json& list : lists)
        for (const json& row : list["list"]) {
            for (const char* key :
                 {"type", "order", "scale", "offset", "raw", "reads_C", "sensible", "moved_K"})
                EXPECT_TRUE(row.contains(key)) << key;
            moved = moved || (row["sensible"] == true && row["type"] == "int16" && row["scale"] == 0.1 &&
                              row["moved_K"].get<double>() > 0.3);
        }
    EXPECT_TRUE(moved);
}

TEST_F(Connecting, WrongAddressIsRefusedAndNothingIsWritten)
{
    startPlate("floats");
    draft["registers"]["sensor_C"]["address"] = 6; // the watchdog's time, 3.0
    EXPECT_EQ(connect().exitCode(), 7) << controller->output();
    EXPECT_THAT(end()["refused"][0], StartsWith("nothing that holding register 6 of unit 1"));
    EXPECT_EQ(end()["heater_off"], true);
    EXPECT_TRUE(end()["link"].is_null());
    EXPECT_FALSE(std::filesystem::exists(folder / "out.json"));
}

TEST_F(Connecting, SensorThatStandsStillIsRefused)
{
    startPlate("plain", {"--fault", "sensor-stuck@2"});
    EXPECT_EQ(connect().exitCode(), 7);
    EXPECT_THAT(end()["refused"][0], HasSubstr("no candidate moved"));
}

TEST_F(Connecting, WatchdogTimeInTheWrongScaleIsFoundBecauseNothingIsCut)
{
    startPlate("plain");
    draft["registers"]["watchdog_s"]["scale"] = 0.01; // 3 s is then written as 30 s
    EXPECT_EQ(connect().exitCode(), 7);
    EXPECT_THAT(end()["refused"][0], HasSubstr("the heater was not cut"));
    EXPECT_EQ(end()["heater_off"], true);
    EXPECT_TRUE(plateIsOff());
}

TEST_F(Connecting, EnableOutputThatDoesNothingIsRefused)
{
    startPlate("floats", {"--fault", "enable-welded"});
    EXPECT_EQ(connect().exitCode(), 7);
    EXPECT_THAT(end()["refused"][0], StartsWith("the enable output does not take the heat away"));
}

TEST_F(Connecting, StopUnderHeatLeavesTheHeaterOff)
{
    startPlate("plain", {}, "5");
    connect();
    ASSERT_TRUE(waitFor([&] { return said("step").size() >= 3; })); // 10 % of its heat
    controller->signal(SIGTERM);
    EXPECT_EQ(controller->exitCode(), 6) << controller->output();
    EXPECT_EQ(end()["heater_off"], true);
    EXPECT_TRUE(plateIsOff());
}

TEST_F(Connecting, DeathUnderHeatIsMadeGoodByTheGuardian)
{
    startPlate("plain", {}, "5");
    connect();
    ASSERT_TRUE(waitFor([&] { return said("step").size() >= 3; }));
    kill(controller->worker(), SIGKILL);
    EXPECT_EQ(controller->exitCode(), 1);
    EXPECT_THAT(controller->errors(), HasSubstr("heater off, read back"));
    EXPECT_TRUE(plateIsOff());
}

TEST_F(Connecting, LostGuardianEndsTheHeat)
{
    startPlate("plain", {}, "5");
    connect();
    ASSERT_TRUE(waitFor([&] { return said("step").size() >= 3; }));
    kill(controller->guardian(), SIGKILL);
    EXPECT_EQ(controller->exitCode(), 7) << controller->output();
    EXPECT_THAT(end()["refused"][0], HasSubstr("guards the heater"));
    EXPECT_EQ(end()["heater_off"], true);
    EXPECT_TRUE(plateIsOff());
    EXPECT_FALSE(std::filesystem::exists(folder / "out.json"));
}

TEST_F(Connecting, PlateThatIsGoneAfterTheSilenceIsWaitedForAndTurnedOff)
{
    startPlate("plain", {"--rtu", folder / "tty", "--baud", "115200", "--frame", "8N1"}, "2");
    connect();
    ASSERT_TRUE(waitFor([&] { return controller->output().find("of silence") != std::string::npos; }))
        << controller->output();
    usleep(11'000'000); // 20 s of the plate's before the silence, 4 s of it
    plate->signal(SIGSTOP);
    usleep(5'000'000); // longer than a guardian waits for one that stands still
    plate->signal(SIGCONT);
    EXPECT_EQ(controller->exitCode(), 7) << controller->output() << controller->errors();
    EXPECT_THAT(end()["refused"][0], HasSubstr("does not answer as before"));
    EXPECT_EQ(end()["heater_off"], true);
}

TEST_F(Connecting, PlateThatIsNotSaidToBeSimulatedTakesItsOwnTime)
{
    startPlate("plain");
    draft.erase("simulated");
    EXPECT_EQ(connect().exitCode(), 2);
    EXPECT_THAT(end()["refused"][0], HasSubstr("simulated"));
}

TEST_F(Connecting, HostNobodyKnowsIsSaidSo)
{
    startPlate("plain");
    draft["host"] = "no-such-plate.invalid";
    EXPECT_EQ(connect().exitCode(), 5);
    EXPECT_THAT(end()["refused"][0], HasSubstr("no-such-plate.invalid"));
}

TEST_F(Connecting, ColdOnlyListsUntilItIsStoppedAndTouchesNothing)
{
    startPlate("plain", {}, "1");
    draft["registers"]["duty"]["address"] = 900; // does not matter yet
    connect({"--cold-only"});
    EXPECT_TRUE(waitFor([&] { return said("candidates").size() >= 2; })) << controller->errors();
    controller->signal(SIGTERM);
    EXPECT_EQ(controller->exitCode(), 6);
    EXPECT_FALSE(std::filesystem::exists(folder / "out.json"));
}

TEST_F(Connecting, BadDraftIsRefusedWithThePlaceOfEveryProblem)
{
    startPlate("plain");
    draft["registers"]["duty"].erase("type");
    draft["host"] = 7;
    EXPECT_EQ(connect().exitCode(), 3);
    EXPECT_THAT(end()["refused"].dump(),
                testing::AllOf(HasSubstr("/registers/duty/type"), HasSubstr("/host")));
}

TEST_F(Connecting, PlateThatIsNotThereIsSaidSo)
{
    startPlate("plain");
    draft["port"] = 1;
    EXPECT_EQ(connect().exitCode(), 5);
    EXPECT_THAT(end()["refused"][0], HasSubstr("cannot be reached"));
}

TEST_F(Connecting, PlateInOtherHandsIsNotTouched)
{
    startPlate("plain", {}, "1");
    connect({"--cold-only"});
    ASSERT_TRUE(waitFor([&] { return !said("candidates").empty(); }));
    ChildProgram second("stripwright-controller",
                        {"find", "127.0.0.1:" + std::to_string(draft["port"].get<int>()), "--units", "1-1"});
    EXPECT_EQ(second.exitCode(), 5);
    EXPECT_THAT(second.errors(), HasSubstr("another controller"));
}

TEST_F(Connecting, FindSaysDevicesAsALinkFileWould)
{
    startPlate("plain");
    controller = std::make_unique<ChildProgram>(
        "stripwright-controller",
        std::vector<std::string>{"find", "127.0.0.1:" + std::to_string(draft["port"].get<int>()), "--units",
                                 "1-2", "--json"});
    EXPECT_EQ(controller->exitCode(), 0);
    ASSERT_EQ(said("device").size(), 1u);
    const json device = said("device").front();
    EXPECT_EQ(device["unit"], 1);
    EXPECT_EQ(device["line"], (json{{"host", "127.0.0.1"}, {"port", draft["port"]}}));
    EXPECT_EQ(device["says"], "answers");
    EXPECT_EQ(device["registers"]["holding"].size(), 3u); // duty, nothing, watchdog
    EXPECT_EQ(end()["found"], 1);
}

TEST_F(Connecting, WrongArgumentsOfFindAreSaidInWords)
{
    for (const auto& [arguments, words] : {std::pair<std::vector<std::string>, const char*>{
                                               {"find", "127.0.0.1:x"}, "the port \"x\", which is no number"},
                                           {{"find", "127.0.0.1:70000"}, "the port \"70000\" in"},
                                           {{"find", "127.0.0.1", "--units", "9-3"}, "--units"},
                                           {{"find", "127.0.0.1", "--baud", "9600"}, "--baud"}}) {
        ChildProgram program("stripwright-controller", arguments);
        EXPECT_EQ(program.exitCode(), 2);
        EXPECT_THAT(program.errors(), HasSubstr(words));
    }
}

} // namespace
