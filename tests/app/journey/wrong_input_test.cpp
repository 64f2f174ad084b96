#include "journey.h"

#include <chrono>
#include <gtest/gtest.h>
#include <sys/stat.h>

using namespace stripwright;

namespace {

struct Case {
    const char* name;
    std::vector<std::string> arguments; ///< "@" at the start of one stands for the scratch folder.
    int code;
    const char* says; ///< Somewhere on standard error.
};

void PrintTo(const Case& wrong, std::ostream* out)
{
    *out << wrong.name;
}

class WrongInput : public testing::TestWithParam<Case> {
protected:
    WrongInput()
    {
        write(folder_ / "curve.csv", "time_s,plate_C\n0,23\n100,150\n");
        write(folder_ / "hot.csv", "time_s,plate_C\n0,23\n100,1500\n");
        write(folder_ / "text.plan.json", "not a plan");
        write(folder_ / "real.plate.json", "{}");
        std::filesystem::copy_file(demoSheet, folder_ / "own.bench.json");
        std::filesystem::create_directory(folder_ / "demo");
        std::filesystem::create_directories(folder_ / "runtime/stripwright");
        std::filesystem::permissions(folder_ / "runtime/stripwright", std::filesystem::perms::owner_all);
        write(folder_ / "demo/demo.bench.json", "somebody's own");
        write(folder_ / "empty.db", "");
        for (const char* big : {"big.bench.json", "big.plan.json", "big.csv"}) {
            write(folder_ / big, "");
            std::filesystem::resize_file(folder_ / big, 400'000'000);
        }
        write(folder_ / "recorded.csv", "time_s,profile_s,plate_C,reference_C\n0,0,23,23\n");
        write(folder_ / "predicted.csv", "time_s,plate_C,joint_6_C\n0,23,23\n");
        mkfifo((folder_ / "pipe.bench.json").c_str(), 0600);
        write(folder_ / "deep.bench.json", std::string(100'000, '['));
        write(folder_ / "week.csv", "time_s,plate_C\n0,23\n604800,23\n");
    }
    ScratchFolder folder_;
};

const std::string sheets = TEST_DATA_DIR "/sheets/";

const Case cases[] = {
    {"NoSuchSheet", {"plan", "@/none.bench.json"}, 3, "none.bench.json"},
    {"SheetIsNoJson", {"plan", sheets + "not-json.bench.json"}, 3, "line 2"},
    {"UnknownPaste", {"plan", sheets + "unknown-paste.bench.json"}, 3, ": /paste: found"},
    {"SheetOf400MB", {"plan", "@/big.bench.json"}, 3, "found 400 MB, expected at most 16 MB"},
    {"SheetIsAPipe", {"plan", "@/pipe.bench.json"}, 3, "found a pipe or device"},
    {"SheetIsADevice", {"plan", "/dev/zero"}, 3, "found a pipe or device"},
    {"SheetIsAFolder", {"plan", "@"}, 3, "found a folder"},
    {"SheetIsDeeplyNested", {"plan", "@/deep.bench.json"}, 3, "nested deeper than 64"},
    {"PlanOf400MB", {"run", "@/big.plan.json"}, 3, "found 400 MB, expected at most 64 MB"},
    {"CurveOf400MB",
     {"predict", demoSheet, "--plate-curve", "@/big.csv", "--out", "@/o.csv"},
     3,
     "found 400 MB, expected at most 64 MB"},
    {"CurveOfAWeek",
     {"predict", demoSheet, "--plate-curve", "@/week.csv", "--out", "@/o.csv"},
     3,
     "a curve of 604800 s, expected at most"},
    {"OutInNoFolder", {"plan", demoSheet, "--out", "@/none/a.plan.json"}, 8, "none/a.plan.json"},
    {"OutIsAFolder", {"plan", demoSheet, "--out", "@"}, 8, "is a folder"},
    {"OutIsAPipe", {"plan", demoSheet, "--out", "@/pipe.bench.json"}, 8, "is a device, pipe"},
    {"OutIsTheSheet", {"plan", "@/own.bench.json", "--out", "@/./own.bench.json"}, 8, "is the same file"},
    {"OutIsAShippedSheet", {"plan", "@/own.bench.json", "--out", demoSheet}, 8, "is the same file"},
    {"OutHoldsAnotherDocument", {"plan", demoSheet, "--out", "@/curve.csv"}, 8, "holds something else"},
    {"PredictOutIsTheCurve",
     {"predict", demoSheet, "--plate-curve", "@/curve.csv", "--out", "@/curve.csv"},
     8,
     "is the same file"},
    {"PredictOutIsTheSheet",
     {"predict", "@/own.bench.json", "--plate-curve", "@/curve.csv", "--out", "@/own.bench.json"},
     8,
     "is the same file"},
    {"PredictOutHoldsARecordedRun",
     {"predict", demoSheet, "--plate-curve", "@/curve.csv", "--out", "@/recorded.csv"},
     8,
     "holds a CSV of a recorded run, and only an earlier CSV of predicted curves would be replaced"},
    {"CsvHoldsAPrediction",
     {"review", "--runs", "@/empty.db", "--csv", "@/predicted.csv"},
     8,
     "holds a CSV of predicted curves, and only an earlier CSV of a recorded run would be replaced"},
    {"CsvIsTheRunLog", {"review", "--runs", "@/empty.db", "--csv", "@/empty.db"}, 8, "is the same file"},
    {"PngIsBesideTheRunLog",
     {"review", "--runs", "@/empty.db", "--png", "@/empty.db-wal"},
     8,
     "is the same file"},
    {"PngIsTheCsv",
     {"review", "--runs", "@/empty.db", "--csv", "@/new", "--png", "@/new"},
     8,
     "is the same file"},
    {"RunLogIsThePlan", {"run", "@/text.plan.json", "--runs", "@/text.plan.json"}, 8, "is the same file"},
    {"RunLogInNoFolder", {"run", "@/text.plan.json", "--runs", "@/none/a.runs"}, 8, "none/a.runs"},
    {"RunLogOfTheWindowInNoFolder", {"--runs", "@/none/a.runs"}, 8, "none/a.runs"},
    {"RunLogIsAPipe", {"run", "@/text.plan.json", "--runs", "@/pipe.bench.json"}, 8, "is a device, pipe"},
    {"DemoIntoOtherDocuments", {"--headless", "--out", "@/demo"}, 8, "demo.bench.json: holds"},
    {"SpeedOfARealPlate",
     {"run", "@/text.plan.json", "--plate", "@/real.plate.json", "--speed", "5"},
     2,
     "only for simulated plates"},
    {"NothingToStop", {"stop"}, 5, "no controller of this user"},
    {"NothingToFollow", {"follow", "1"}, 5, "no controller of this user"},
    {"CurveTooHot",
     {"predict", demoSheet, "--plate-curve", "@/hot.csv", "--out", "@/o.csv"},
     3,
     "/line 3/plate_C: found \"1500\""},
    {"PlaceOffTheStrip",
     {"predict", demoSheet, "--plate-curve", "@/curve.csv", "--out", "@/o.csv", "--at", "421"},
     2,
     "from 0 to 420 mm"},
    {"PredictOutInNoFolder",
     {"predict", demoSheet, "--plate-curve", "@/curve.csv", "--out", "@/none/o.csv"},
     8,
     "none/o.csv"},
    {"PlanIsNoPlan", {"run", "@/text.plan.json"}, 3, "text.plan.json"},
    {"SheetInsteadOfPlan", {"run", demoSheet}, 3, "/format"},
    {"NoRunLog", {"review", "--runs", "@/none.db"}, 3, "none.db"},
    {"RunLogIsEmpty", {"review", "--runs", "@/empty.db"}, 3, "empty.db"},
    {"UnknownCommand", {"bake"}, 2, "bake"},
    {"MissingSheet", {"plan"}, 2, "SHEET"},
};

} // namespace

TEST_P(WrongInput, IsAnsweredWithItsCodeAndWordsAndWritesNothing)
{
    auto arguments = GetParam().arguments;
    for (std::string& argument : arguments)
        if (argument.starts_with('@'))
            argument = folder_ / "" / argument.substr(std::min<size_t>(2, argument.size()));
    const auto before = filesIn(folder_ / "");
    ChildProgram program(
        "stripwright", arguments,
        {{"XDG_DATA_HOME", folder_ / ""}, {"STRIPWRIGHT_RUNNING", folder_ / "runtime/stripwright"}});
    EXPECT_EQ(program.exitCode(), GetParam().code);
    EXPECT_NE(program.errors().find(GetParam().says), std::string::npos) << program.errors();
    EXPECT_EQ(program.output(), "");
    EXPECT_EQ(filesIn(folder_ / ""), before);
    EXPECT_EQ(textOf(folder_ / "own.bench.json"), textOf(demoSheet));
    EXPECT_EQ(textOf(folder_ / "text.plan.json"), "not a plan");
    EXPECT_TRUE(textOf(folder_ / "curve.csv").ends_with("100,150\n"));
}

INSTANTIATE_TEST_SUITE_P(Journey, WrongInput, testing::ValuesIn(cases),
                         [](const auto& wrong) { return wrong.param.name; });

TEST(SheetWithThreeFaults, GivesThreeLinesAndNoPlan)
{
    const ScratchFolder folder;
    const std::string sheet = sheets + "three-faults.bench.json", out = folder / "a.plan.json";
    ChildProgram program("stripwright", {"plan", sheet, "--out", out});
    EXPECT_EQ(program.exitCode(), 3);
    const auto lines = linesOf(program.errors());
    ASSERT_EQ(lines.size(), 3u) << program.errors();
    for (const std::string& line : lines) {
        EXPECT_TRUE(line.starts_with(sheet + ": /")) << line;
        EXPECT_NE(line.find(": found "), std::string::npos) << line;
        EXPECT_NE(line.find(", expected "), std::string::npos) << line;
    }
    EXPECT_EQ(program.output(), "");
    EXPECT_FALSE(std::filesystem::exists(out));
}

TEST(CheckOfAPipe, AnswersWithoutWaitingForItsOtherEnd)
{
    const ScratchFolder folder;
    for (const char* name : {"pipe.bench.json", "pipe.csv", "alloys.json"}) {
        mkfifo((folder / name).c_str(), 0600);
        ChildProgram program("stripwright", {"check", folder / name});
        EXPECT_EQ(program.exitCode(), 3) << name;
        EXPECT_NE(program.output().find("found a pipe or device"), std::string::npos) << program.output();
    }
}

TEST(CheckOfPlateLinks, SaysWhatTheyAreOrEveryProblemAmongOtherFiles)
{
    const ScratchFolder folder;
    const std::string good = folder / "good.plate.json", bad = folder / "bad.json",
                      broken = folder / "broken.plate.json";
    const std::string start =
        R"({"format": "stripwright-plate-link", "version": 1, "name": "bench 2", "host": "10.0.0.7",)";
    write(good, start + R"("drive": "setpoint", "registers": {
        "sensor_C": {"table": "input", "address": 1, "type": "int16", "scale": 0.1},
        "setpoint_C": {"table": "holding", "address": 2, "type": "int16", "scale": 0.1}}})");
    write(bad, start + R"("drive": "duty", "unit": 300, "registers": {
        "sensor_C": {"table": "coil", "address": 1, "type": "int16"}}})"); // known by its format
    write(broken, "{");
    ChildProgram program("stripwright", {"check", good, bad, sheets + "unknown-paste.bench.json", broken});
    EXPECT_EQ(program.exitCode(), 3);
    const std::string said = program.output();
    size_t at = 0;
    for (const std::string& line :
         {good + ": ok, plate link of \"bench 2\" at 10.0.0.7 port 502, unit 1, driven by its set-point; no "
                 "watchdog named; heat not learnt\n",
          good + ": but: this plate is driven by its set-point and does not tell what its own loop gives",
          good + ": but: no \"watchdog_s\"", good + ": but: no \"plate_max_C\"", bad + ": /unit: found 300",
          bad + ": /registers/sensor_C/table: found \"coil\"", bad + ": /registers/duty: found nothing",
          sheets + "unknown-paste.bench.json: /", broken + ": line 1"}) {
        at = said.find(line, at);
        ASSERT_NE(at, std::string::npos) << line << "\nnot in its place in\n" << said;
    }
    EXPECT_EQ(program.errors(), "");
    EXPECT_EQ(ChildProgram("stripwright", {"check", good}).exitCode(), 0);
}

TEST(SheetWithoutAPlan, StillLeavesTheBestPlanThatRunThenRefuses)
{
    const ScratchFolder folder;
    const std::string plan = folder / "a.plan.json";
    ChildProgram planning("stripwright",
                          {"plan", SHELF_DIR "/marram-lane-bar-3-sac305.bench.json", "--out", plan});
    EXPECT_EQ(planning.exitCode(), 4);
    EXPECT_NE(planning.output().find("Not runnable"), std::string::npos);
    ChildProgram running("stripwright", {"run", plan, "--runs", folder / "runs.db"});
    EXPECT_EQ(running.exitCode(), 4);
    EXPECT_NE(running.errors().find("Not runnable"), std::string::npos);
    EXPECT_FALSE(std::filesystem::exists(folder / "runs.db"));
}

TEST(OldPlan, IsKeptWhenTheNewOneCannotBeWritten)
{
    const ScratchFolder folder;
    const std::string plan = folder / "a.plan.json";
    const std::string old = R"({"format": "stripwright-heat-plan"})";
    write(plan, old);
    ChildProgram program("stripwright", {"plan", sheets + "unknown-paste.bench.json", "--out", plan});
    EXPECT_EQ(program.exitCode(), 3);
    EXPECT_EQ(textOf(plan), old);
}

TEST(AbsentPlate, IsToldWithinTwoSecondsWithWhatToCheck)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder);
    {
        SimulatedPlateProgram plate(folder, 1);
    } // Gone again: its link file names a port that nobody answers at.
    const auto started = std::chrono::steady_clock::now();
    ChildProgram program("stripwright",
                         {"run", plan, "--plate", folder / "bench.plate.json", "--runs", folder / "runs.db"});
    EXPECT_EQ(program.exitCode(), 5) << program.errors();
    EXPECT_LT(std::chrono::steady_clock::now() - started, std::chrono::seconds(2));
    EXPECT_NE(program.errors().find("heck"), std::string::npos) << program.errors();
}

TEST(RunLogThatCannotBeWritten, StopsTheRunBeforeAnyHeat)
{
    const ScratchFolder folder;
    const std::string plan = planOfDemoSheet(folder);
    SimulatedPlateProgram plate(folder, 20);
    ChildProgram program("stripwright", {"run", plan, "--plate", plate.link(), "--runs", "/proc/none/runs.db",
                                         "--speed", "20"});
    EXPECT_EQ(program.exitCode(), 8) << program.errors();
    EXPECT_NE(program.errors().find("/proc/none"), std::string::npos) << program.errors();
    const PlateReading reading = plate.reading();
    EXPECT_EQ(reading.duty, 0);
    EXPECT_LT(reading.sensorC, 25); // It began at the sheet's 23 °C.
}
