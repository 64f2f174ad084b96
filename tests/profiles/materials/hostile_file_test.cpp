#include "expect_problem.h"
#include "materials/entry_keys.h"
#include "scratch_folder.h"

#include <fstream>
#include <gtest/gtest.h>
#include <sys/stat.h>

namespace stripwright {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const std::string demoFile = SHELF_DIR "/marram-lane-bar-7.bench.json";

void write(const fs::path& file, const std::string& text)
{
    std::ofstream(file, std::ios::binary) << text;
}

std::vector<Problem> problemsOfFile(const fs::path& file)
{
    return problemsOf([&] { readTextFile(file); });
}

std::vector<Problem> problemsOfSheet(const std::string& text)
{
    static const Shelf shelf = shippedShelf();
    return problemsOf([&] { readBenchSheet(text, "hostile", shelf); });
}

TEST(HostileFile, OfFourHundredMegabytesIsRefusedUnread)
{
    const ScratchFolder folder;
    const fs::path file = folder / "big.bench.json";
    write(file, "");
    fs::resize_file(file, 400'000'000);
    const auto problems = problemsOfFile(file);
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].text(), file.string() + ": /: found 400 MB, expected at most 16 MB");
    fs::resize_file(file, 16'000'001);
    EXPECT_EQ(problemsOfFile(file).at(0).found, "17 MB");
    fs::resize_file(file, 16'000'000);
    EXPECT_EQ(readTextFile(file).size(), 16'000'000u);
    fs::resize_file(file, 64'000'000);
    EXPECT_EQ(readTextFile(file, mostPlanMB).size(), 64'000'000u);
}

TEST(HostileFile, ThatIsNoRegularFileIsNotOpened)
{
    const ScratchFolder folder;
    const fs::path pipe = folder / "pipe.bench.json";
    ASSERT_EQ(mkfifo(pipe.c_str(), 0600), 0);
    EXPECT_EQ(problemsOfFile(pipe).at(0).found, "a pipe or device");
    EXPECT_EQ(problemsOfFile("/dev/zero").at(0).found, "a pipe or device");
    EXPECT_EQ(problemsOfFile(folder / "").at(0).found, "a folder");
    EXPECT_EQ(problemsOfFile(folder / "none.bench.json").at(0).found, "no such file");
    const fs::path loop = folder / "loop.bench.json";
    fs::create_symlink(loop, loop);
    EXPECT_THAT(problemsOfFile(loop).at(0).found, testing::HasSubstr("symbolic links"));
}

TEST(HostileShelf, WithAPipeInPlaceOfAFileIsRefused)
{
    const ScratchFolder folder;
    ASSERT_EQ(mkfifo((folder / "alloys.json").c_str(), 0600), 0);
    const std::vector<fs::path> folders = {SHELF_DIR, folder / ""};
    const auto problems = problemsOf([&] { readShelf(folders); });
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].found, "a pipe or device");
}

TEST(HostileShelf, OfTenThousandBadEntriesReportsTheFirstHundredProblems)
{
    const ScratchFolder folder;
    json document = {{"format", "stripwright-alloys"}, {"version", 1}};
    for (int i = 0; i < 1000; ++i)
        document["entries"].push_back({{"id", 1}, {"nmae", "x"}});
    write(folder / "alloys.json", document.dump());
    const std::vector<fs::path> folders = {SHELF_DIR, folder / ""};
    const auto problems = problemsOf([&] { readShelf(folders); });
    ASSERT_EQ(problems.size(), 101u);
    EXPECT_EQ(problems[100].found, "more problems than these 100");
    EXPECT_EQ(problems[99].file, problems[100].file);
}

TEST(HostileSheet, WithTenThousandSitesIsRefusedAtTheList)
{
    json sheet = json::parse(readTextFile(demoFile));
    for (int i = 1; i <= 10'000; ++i)
        sheet["sites"].push_back({{"site", i}, {"state", "replace"}});
    auto problems = problemsOfSheet(sheet.dump());
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].text(),
              "hostile: /sites: found 10005 items, expected an array of at most 400 items");

    sheet = json::parse(readTextFile(demoFile));
    const Shelf shelf = shippedShelf();
    sheet["strip"] = entryToJson(*findById(shelf.strips, "growbar-420-12"));
    sheet["strip"]["site_x_mm"] = json::array();
    for (int i = 0; i < 10'000; ++i)
        sheet["strip"]["site_x_mm"].push_back(5 + 0.04 * i);
    problems = problemsOfSheet(sheet.dump());
    ASSERT_FALSE(problems.empty());
    EXPECT_EQ(problems[0].pointer, "/strip/site_x_mm");
    EXPECT_EQ(problems[0].found, "10000 sites");
    EXPECT_EQ(problems[0].expected, "an array of 1 to 400 numbers");
}

TEST(HostileSheet, OfAHundredThousandUnknownKeysIsRefused)
{
    json sheet = json::parse(readTextFile(demoFile));
    for (int i = 0; i < 100'000; ++i)
        sheet["key" + std::to_string(i)] = i;
    const auto problems = problemsOfSheet(sheet.dump());
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].found, "an object with more than 1000 keys");
}

TEST(HostileSheet, OfBracketsNestedAHundredThousandDeepIsRefused)
{
    const std::string depth = "brackets nested deeper than 64";
    for (const std::string open : {"[", "{\"a\":"}) {
        std::string text;
        for (int i = 0; i < 100'000; ++i)
            text += open;
        const auto problems = problemsOfSheet(text);
        ASSERT_EQ(problems.size(), 1u);
        EXPECT_EQ(problems[0].found, depth);
    }
    std::string text = std::string(64, '[') + std::string(64, ']');
    std::vector<Problem> problems;
    EXPECT_TRUE(parseDocument(text, "deep", "", 0, problems));
    text = "[" + text + "]";
    EXPECT_FALSE(parseDocument(text, "deep", "", 0, problems));
}

TEST(HostileSheet, OfTenMillionValuesIsRefused)
{
    std::string text = "[0";
    for (int i = 1; i < 8'100'000; ++i)
        text += ",0";
    const auto problems = problemsOfSheet(text + "]");
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].found, "more than 8000000 values");
}

TEST(HostileSheet, GetsShortAnswersToLongTexts)
{
    const std::string megabyte(1'000'000, 'x');
    json sheet = json::parse(readTextFile(demoFile));
    for (const char* key : {"title", "heat", "paste", "version", "air"})
        sheet[key] = megabyte;
    sheet[megabyte] = megabyte;
    sheet["overrides"] = {megabyte};
    sheet["version"] = 1;
    const auto problems = problemsOfSheet(sheet.dump());
    EXPECT_EQ(problems.size(), 6u);
    for (const Problem& problem : problems)
        EXPECT_LT(problem.text().size(), 1000u) << problem.pointer.substr(0, 80);
    EXPECT_LT(problemsOfSheet("{\"title\": \"" + megabyte).at(0).text().size(), 400u);
}

TEST(QuotedValue, IsNeverCutInsideACharacter)
{
    std::string text;
    for (int i = 0; i < 100; ++i)
        text += "\xC2\xB0"; // °
    for (const std::string shift : {"", "a"})
        EXPECT_NO_THROW(json(quoted(json(shift + text))).dump());
}

} // namespace
} // namespace stripwright
