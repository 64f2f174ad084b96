#include "commands/commands.h"
#include "demo_sheet.h"
#include "materials/output_file.h"
#include "planner/plan_sheet.h"
#include "runlog/run_log.h"
#include "runlog/salvage.h"
#include "scratch_folder.h"

#include <fstream>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace stripwright {

struct RunsCommandTest : testing::Test {
    ScratchFolder folder;
    std::string file = folder / "runs.sqlite";

    static std::string planText()
    {
        static const HeatPlan one = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
        HeatPlan plan = one;
        plan.heat = 2;
        plan.ofHeats = 3;
        return toJson(plan).dump();
    }
    void SetUp() override
    {
        RunWriter writer(file);
        writer.begin(planText(), "link", "2026-11-25T09:08:07Z");
        for (long seq = 1; seq <= 500; ++seq)
            writer.add(Sample{.seq = seq});
        writer.end(Outcome::Completed, "done", "2026-11-25T09:18:07Z");
        writer.add(BenchEvent{"2026", "note", "info", "n"});
        writer.commit();
    }
    void damage() const
    {
        std::fstream out(file, std::ios::binary | std::ios::in | std::ios::out);
        out.seekp(100);
        out << std::string(3000, '\0');
    }
    static std::string outputOf(const RunsCommand& command, int code)
    {
        testing::internal::CaptureStdout();
        EXPECT_EQ(carryOut(command), code);
        return testing::internal::GetCapturedStdout();
    }
};

TEST_F(RunsCommandTest, SaysWhatIsInASoundFile)
{
    const std::string text = outputOf({.file = file}, exitOk);
    EXPECT_NE(text.find("sound, 1 run, 1 events between runs"), std::string::npos) << text;
    EXPECT_NE(text.find("20261125090807-1  500 samples"), std::string::npos) << text;
    EXPECT_NE(text.find("bar 7, site 6 dark, heat 2 of 3: swap at site 6"), std::string::npos) << text;
    const auto json = nlohmann::json::parse(outputOf({.file = file, .json = true}, exitOk));
    EXPECT_EQ(json.at("sound"), true);
    EXPECT_EQ(json.at("runs").at(0).at("heat"), 2);
    EXPECT_EQ(json.at("runs").at(0).at("sites"), nlohmann::json({6}));
    EXPECT_EQ(json.at("runs").at(0).at("samples"), 500);
}

// SQLite finds nothing wrong with a page whose letters have changed.
TEST_F(RunsCommandTest, AFileWithGarbledTextsIsNotSound)
{
    std::string bytes;
    {
        std::ifstream in(file, std::ios::binary);
        bytes.assign(std::istreambuf_iterator<char>(in), {});
    }
    const size_t at = bytes.find("\"cards\"");
    ASSERT_NE(at, std::string::npos);
    std::fstream(file, std::ios::binary | std::ios::in | std::ios::out).seekp(long(at)) << "\x01\x02\x03";
    ASSERT_TRUE(healthOf(file, 10).sound);
    const std::string text = outputOf({.file = file}, exitBadInput);
    EXPECT_NE(text.find("garbled texts in 1 of its runs, 1 run"), std::string::npos) << text;
    EXPECT_NE(text.find("garbled: its plan: line 1, column"), std::string::npos) << text;
    EXPECT_EQ(text.find(": sound"), std::string::npos) << text;
    const auto json = nlohmann::json::parse(outputOf({.file = file, .json = true}, exitBadInput));
    EXPECT_EQ(json.at("sound"), false);
    testing::internal::CaptureStdout();
    EXPECT_EQ(carryOut(CheckCommand{{file}}), exitBadInput);
    EXPECT_NE(testing::internal::GetCapturedStdout().find("garbled"), std::string::npos);
}

TEST_F(RunsCommandTest, CheckSaysOfADamagedFileThatItIsNoGoodOne)
{
    damage();
    testing::internal::CaptureStdout();
    EXPECT_EQ(carryOut(CheckCommand{{file}}), exitBadInput);
    EXPECT_NE(testing::internal::GetCapturedStdout().find("damaged"), std::string::npos);
}

TEST_F(RunsCommandTest, CopyIsANewFileOrIsRefusedBeforeAnythingIsRead)
{
    const std::string copy = folder / "copy.sqlite", sheet = folder / "a.bench.json";
    outputOf({.file = file, .copyTo = copy}, exitOk);
    EXPECT_EQ(RunReader(copy).runs().at(0).samples, 500);
    std::ofstream(sheet) << "{}";
    EXPECT_THROW(carryOut(RunsCommand{.file = file, .copyTo = sheet}), CannotWrite);
    EXPECT_THROW(carryOut(RunsCommand{.file = file, .copyTo = file}), CannotWrite);
    EXPECT_THROW(carryOut(RunsCommand{.file = file, .salvageTo = file}), CannotWrite);
    EXPECT_THROW(carryOut(RunsCommand{.file = file, .copyTo = "/dev/full"}), CannotWrite);
    EXPECT_EQ(std::filesystem::file_size(sheet), 2u);
    EXPECT_EQ(RunReader(file).runs().at(0).samples, 500);
}

TEST_F(RunsCommandTest, DamagedFileIsSaidAndSalvagedIntoANewOne)
{
    damage();
    EXPECT_NE(outputOf({.file = file}, exitBadInput).find("damaged"), std::string::npos);
    const std::string saved = folder / "saved.sqlite";
    const std::string text = outputOf({.file = file, .salvageTo = saved}, exitOk);
    EXPECT_NE(text.find("1 run, 500 samples saved to"), std::string::npos) << text;
    EXPECT_EQ(RunReader(saved).runs().at(0).samples, 500);
    outputOf({.file = file, .copyTo = folder / "copy.sqlite"}, exitBadInput);
    EXPECT_FALSE(std::filesystem::exists(folder / "copy.sqlite")) << "a copy of damage is none";
}

TEST_F(RunsCommandTest, SalvageSaysHowManySamplesWereWrittenOnlyWhereTheFileTells)
{
    const std::string cutOff = folder / "cut-off.sqlite";
    {
        RunWriter writer(cutOff);
        writer.begin(R"({"sheet": {"title": "Bar 7"}})", "link", "2026-11-25T09:08:07Z");
        for (long seq = 1; seq <= 5000; ++seq)
            writer.add(Sample{.seq = seq});
        writer.end(Outcome::Completed, "done", "2026-11-25T09:18:07Z");
    }
    std::filesystem::resize_file(cutOff, std::filesystem::file_size(cutOff) / 2 / 4096 * 4096);
    const std::string cut = outputOf({.file = cutOff, .salvageTo = folder / "cut.sqlite"}, exitOk);
    const long saved = RunReader(folder / "cut.sqlite").runs().at(0).samples;
    ASSERT_GT(saved, 0);
    ASSERT_LT(saved, 5000);
    EXPECT_NE(cut.find("1 run, " + std::to_string(saved) + " samples saved to"), std::string::npos) << cut;
    EXPECT_EQ((Salvaged{.runsFound = 1, .samples = 7, .samplesFound = 9}.inWords()),
              "1 run, 7 samples (the file says that 9 were written)");
}

TEST_F(RunsCommandTest, SalvageThatSavesNothingIsBadInputAndLeavesNoFile)
{
    {
        std::fstream out(file, std::ios::binary | std::ios::in | std::ios::out);
        out.seekp(100);
        out << std::string(std::filesystem::file_size(file) - 100, '\0');
    }
    const std::string saved = folder / "saved.sqlite";
    try {
        carryOut(RunsCommand{.file = file, .salvageTo = saved});
        FAIL() << "expected RunLogError";
    } catch (const RunLogError& failure) {
        EXPECT_NE(std::string(failure.what()).find("nothing was saved"), std::string::npos) << failure.what();
    }
    EXPECT_FALSE(std::filesystem::exists(saved));
}

TEST_F(RunsCommandTest, EmptyFileAndFolderAreNoRunLogs)
{
    std::ofstream(folder / "empty").close();
    testing::internal::CaptureStdout();
    EXPECT_THROW(carryOut(RunsCommand{.file = folder / "empty"}), RunLogError);
    EXPECT_EQ(testing::internal::GetCapturedStdout(), "");
    for (const char* name : {"", "empty"})
        try {
            carryOut(ReviewCommand{.runs = folder / name});
            FAIL() << "expected RunLogError";
        } catch (const RunLogError& failure) {
            EXPECT_NE(std::string(failure.what()).find(*name ? "is empty" : "is a folder"), std::string::npos)
                << failure.what();
        }
}

TEST_F(RunsCommandTest, FileThatIsNoRunLogIsBadInput)
{
    std::ofstream(folder / "text") << std::string(5000, 'x');
    EXPECT_THROW(carryOut(RunsCommand{.file = folder / "text"}), RunLogError);
    EXPECT_THROW(carryOut(RunsCommand{.file = folder / "absent"}), RunLogError);
}

} // namespace stripwright
