#include "runlog/run_log.h"
#include "runlog/salvage.h"
#include "scratch_folder.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <chrono>
#include <fstream>
#include <gtest/gtest.h>
#include <random>

namespace stripwright {

constexpr long runs = 4, samplesPerRun = 600;

static void writeRuns(const std::filesystem::path& file)
{
    RunWriter writer(file);
    for (int run = 0; run < runs; ++run) {
        writer.begin(R"({"sheet": {"title": "Bar"}})", "link", "2026-11-25T09:00:00Z");
        for (long seq = 1; seq <= samplesPerRun; ++seq)
            writer.add(
                Sample{.seq = seq, .timeS = double(seq), .sensorC = 20, .extra = {{"a_C", double(seq)}}});
        writer.add(Event{1, 0, "note", "info", "n"});
        writer.end(Outcome::Completed, "done", "2026-11-25T09:10:00Z");
    }
}

static std::string bytesOf(const std::filesystem::path& file)
{
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

static void overwrite(const std::filesystem::path& file, size_t at, const std::string& bytes)
{
    std::fstream out(file, std::ios::binary | std::ios::in | std::ios::out);
    out.seekp(long(at));
    out << bytes;
}

struct LeafPage {
    long number = 0, rows = 0;
};

/// Pages of a table's tree that hold rows, not pointers to other pages.
static std::vector<LeafPage> leafPages(const std::filesystem::path& file, const std::string& table)
{
    SQLite::Database database(file.string());
    std::vector<LeafPage> pages;
    SQLite::Statement row(database, "SELECT pageno, ncell FROM dbstat WHERE name = ? AND pagetype = 'leaf'");
    row.bind(1, table);
    while (row.executeStep())
        pages.push_back({row.getColumn(0).getInt64(), row.getColumn(1).getInt64()});
    return pages;
}

static std::vector<std::filesystem::path> putAside(const std::filesystem::path& folder)
{
    std::vector<std::filesystem::path> found;
    for (const auto& entry : std::filesystem::directory_iterator(folder))
        if (entry.path().filename().string().find("-damaged-") != std::string::npos &&
            entry.path().extension() == ".sqlite")
            found.push_back(entry.path());
    return found;
}

static std::string all(const std::vector<std::string>& news)
{
    std::string text;
    for (const std::string& one : news)
        text += one;
    return text;
}

TEST(DamagedRunLog, IsKeptUnchangedAndWhatCanBeReadGoesOnUnderTheOldName)
{
    ScratchFolder folder;
    const std::filesystem::path file = folder / "runs.sqlite";
    writeRuns(file);
    const std::vector<LeafPage> pages = leafPages(file, "samples");
    ASSERT_GT(pages.size(), 5u);
    overwrite(file, size_t(pages[2].number - 1) * 4096, std::string(4096, '\xa5'));
    const std::string damaged = bytesOf(file);

    RunWriter writer(file);
    const std::string news = all(writer.takeNews());
    EXPECT_NE(news.find("4 runs, "), std::string::npos) << news;
    const auto aside = putAside(folder / "");
    ASSERT_EQ(aside.size(), 1u);
    EXPECT_EQ(bytesOf(aside[0]), damaged);
    EXPECT_TRUE(healthOf(file, 10).sound);
    const std::vector<RunSummary> kept = RunReader(file).runs();
    ASSERT_EQ(kept.size(), 4u);
    long samples = 0;
    for (const RunSummary& run : kept) {
        samples += run.samples;
        EXPECT_EQ(run.outcome, Outcome::Completed);
        EXPECT_EQ(RunReader(file).read(run.key).events.size(), 1u);
    }
    EXPECT_EQ(samples, runs * samplesPerRun - pages[2].rows) << "only what stood on that page is gone";
    EXPECT_NE(news.find(std::to_string(samples) + " samples (the file says that 2400 were written)"),
              std::string::npos)
        << news;
    writer.begin("{}", "", "2026");
}

TEST(DamagedRunLog, FirstPageIsReplacedAndEveryRowIsSaved)
{
    ScratchFolder folder;
    const std::filesystem::path file = folder / "runs.sqlite";
    writeRuns(file);
    overwrite(file, 100, std::string(3996, '\0'));
    RunWriter writer(file);
    const std::string news = all(writer.takeNews());
    EXPECT_NE(news.find("4 runs, 2400 samples could be saved"), std::string::npos) << news;
    EXPECT_EQ(RunReader(file).read(RunReader(file).runs().at(0).key).samples.size(), size_t(samplesPerRun));
}

TEST(DamagedRunLog, ReplacingThatTheComputersEndBrokeOffIsFinishedAtTheNextStart)
{
    ScratchFolder folder;
    const std::filesystem::path sound = folder / "sound.sqlite";
    writeRuns(sound);
    for (const bool missing : {true, false}) {
        const std::filesystem::path file = folder / (missing ? "a.sqlite" : "b.sqlite");
        std::filesystem::copy_file(sound, file.string() + "-salvaged");
        std::ofstream(file.string() + "-wal") << "of the damaged file";
        if (!missing) {
            std::filesystem::copy_file(sound, file);
            overwrite(file, 100, std::string(3996, '\0'));
            std::filesystem::create_hard_link(file, folder / "b-damaged-1.sqlite");
        }
        RunWriter writer(file);
        const std::string news = all(writer.takeNews());
        EXPECT_NE(news.find("the computer stopped while that was mended"), std::string::npos) << news;
        EXPECT_EQ(RunReader(file).runs().size(), 4u);
        EXPECT_FALSE(std::filesystem::exists(file.string() + "-salvaged"));
        EXPECT_EQ(putAside(folder / "").size(), missing ? 0u : 1u);
    }
}

TEST(DamagedRunLog, RandomDamageNeverEndsInACrashOrAFileThatCannotBeUsed)
{
    ScratchFolder folder;
    const std::filesystem::path sound = folder / "sound.sqlite";
    writeRuns(sound);
    std::mt19937 random(3);
    int replaced = 0;
    for (int round = 0; round < 20; ++round) {
        const std::filesystem::path file = folder / ("runs-" + std::to_string(round) + ".sqlite");
        std::filesystem::copy_file(sound, file);
        const size_t size = std::filesystem::file_size(file);
        for (int n = 0; n < 1 + round % 8; ++n) {
            std::string bytes(1 + random() % 64, '\0');
            for (char& c : bytes)
                c = char(random());
            overwrite(file, 100 + random() % (size - 200), bytes);
        }
        if (round % 10 == 9)
            std::filesystem::resize_file(file, size / 2 + random() % 4096);
        RunWriter writer(file);
        replaced += !writer.takeNews().empty();
        EXPECT_TRUE(healthOf(file, 10).sound) << round;
        const std::string key = writer.begin("{}", "", "2026");
        writer.add(Sample{.seq = 1});
        writer.end(Outcome::Completed, "", "2026");
        EXPECT_EQ(RunReader(file).read(key).samples.size(), 1u) << round;
    }
    EXPECT_GT(replaced, 5);
}

TEST(DamagedRunLog, BadTailOfTheWriteAheadFileLosesNothingElse)
{
    ScratchFolder folder;
    const std::filesystem::path file = folder / "runs.sqlite", copy = folder / "copy.sqlite";
    RunWriter writer(file);
    const std::string key = writer.begin("{}", "", "2026");
    for (long seq = 1; seq <= 10; ++seq) {
        writer.add(Sample{.seq = seq});
        writer.commit();
    }
    std::filesystem::copy_file(file, copy);
    std::filesystem::copy_file(file.string() + "-wal", copy.string() + "-wal");
    overwrite(copy.string() + "-wal", std::filesystem::file_size(copy.string() + "-wal") - 100,
              std::string(80, '\x5a'));
    RunWriter next(copy);
    EXPECT_TRUE(next.takeNews().empty());
    EXPECT_EQ(RunReader(copy).read(key).samples.size(), 9u);
}

TEST(LockedRunLog, IsSaidWithinThreeSeconds)
{
    ScratchFolder folder;
    const std::filesystem::path file = folder / "runs.sqlite";
    writeRuns(file);
    SQLite::Database other(file.string(), SQLite::OPEN_READWRITE);
    other.exec("PRAGMA locking_mode = EXCLUSIVE");
    other.exec("BEGIN EXCLUSIVE");
    const auto start = std::chrono::steady_clock::now();
    try {
        RunWriter writer(file);
        FAIL() << "opened a locked file";
    } catch (const RunLogError& error) {
        EXPECT_NE(std::string(error.what()).find("locked"), std::string::npos) << error.what();
    }
    EXPECT_LT(std::chrono::steady_clock::now() - start, std::chrono::seconds(3));
    EXPECT_TRUE(putAside(folder / "").empty());
}

TEST(RunLogOfVersionOne, IsReadAsItIsAndUpgradedByTheWriter)
{
    ScratchFolder folder;
    const std::filesystem::path file = folder / "runs.sqlite";
    writeRuns(file);
    {
        SQLite::Database database(file.string(), SQLite::OPEN_READWRITE);
        database.exec("DROP TABLE bench_events; PRAGMA user_version = 1");
    }
    {
        RunReader reader(file);
        EXPECT_EQ(reader.runs().size(), 4u);
        EXPECT_TRUE(reader.benchEvents().empty());
    }
    RunWriter writer(file);
    EXPECT_TRUE(writer.takeNews().empty());
    writer.add(BenchEvent{"2026", "note", "info", "n"});
    writer.commit();
    EXPECT_EQ(RunReader(file).runs().size(), 4u);
    EXPECT_EQ(RunReader(file).benchEvents().size(), 1u);
}

TEST(RunLogCopy, HoldsWhatIsCommittedWhileARunIsBeingWrittenAndNeverReplacesAFile)
{
    ScratchFolder folder;
    const std::filesystem::path file = folder / "runs.sqlite";
    RunWriter writer(file);
    const std::string key = writer.begin("{}", "", "2026");
    writer.add(Sample{.seq = 1});
    writer.commit();
    copyRunLog(file, folder / "copy.sqlite");
    writer.add(Sample{.seq = 2});
    writer.commit();
    EXPECT_EQ(RunReader(folder / "copy.sqlite").read(key).samples.size(), 1u);
    EXPECT_THROW(copyRunLog(file, folder / "copy.sqlite"), RunLogError);
    EXPECT_THROW(copyRunLog(file, file), RunLogError);
    EXPECT_EQ(RunReader(file).read(key).samples.size(), 2u);
    EXPECT_TRUE(healthOf(folder / "copy.sqlite", 10).sound);
}

} // namespace stripwright
