#include "commands/commands.h"
#include "materials/output_file.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <fstream>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace stripwright {

struct RunsCommandTest : testing::Test {
    ScratchFolder folder;
    std::string file = folder / "runs.sqlite";

    void SetUp() override
    {
        RunWriter writer(file);
        writer.begin(R"({"sheet": {"title": "Bar 7"}})", "link", "2026-11-25T09:08:07Z");
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
    const auto json = nlohmann::json::parse(outputOf({.file = file, .json = true}, exitOk));
    EXPECT_EQ(json.at("sound"), true);
    EXPECT_EQ(json.at("runs").at(0).at("samples"), 500);
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
    EXPECT_NE(text.find("1 of 1 run, 500 of 500 samples saved"), std::string::npos) << text;
    EXPECT_EQ(RunReader(saved).runs().at(0).samples, 500);
    outputOf({.file = file, .copyTo = folder / "copy.sqlite"}, exitBadInput);
    EXPECT_FALSE(std::filesystem::exists(folder / "copy.sqlite")) << "a copy of damage is none";
}

TEST_F(RunsCommandTest, FileThatIsNoRunLogIsBadInput)
{
    std::ofstream(folder / "text") << std::string(5000, 'x');
    EXPECT_THROW(carryOut(RunsCommand{.file = folder / "text"}), RunLogError);
    EXPECT_THROW(carryOut(RunsCommand{.file = folder / "absent"}), RunLogError);
}

} // namespace stripwright
