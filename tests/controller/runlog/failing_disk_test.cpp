#include "failing_disk.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <functional>
#include <gtest/gtest.h>

namespace stripwright {

static Sample sampleAt(long seq)
{
    return {.seq = seq, .timeS = 0.2 * double(seq), .sensorC = 25, .extra = {{"plate_C", double(seq)}}};
}

static std::string failureOf(const std::function<void()>& what)
{
    try {
        what();
    } catch (const RunLogError& error) {
        return error.what();
    }
    ADD_FAILURE() << "did not fail";
    return "";
}

struct FailingDiskTest : testing::Test {
    ScratchFolder folder;
    FailingDisk disk;
    std::filesystem::path file = folder / "runs.sqlite";
    std::unique_ptr<RunWriter> writer = std::make_unique<RunWriter>(file);
    std::string key = writer->begin("{}", "link", "2026-11-25T09:08:07Z");

    void TearDown() override { writer.reset(); }
    void add(long from, long to)
    {
        for (long seq = from; seq <= to; ++seq)
            writer->add(sampleAt(seq));
    }
    RecordedRun recorded() const { return RunReader(writer->file()).read(key); }
};

TEST_F(FailingDiskTest, FullDiskSaysHowManySamplesAreSafeAndWritesTheRestWhenThereIsRoom)
{
    add(1, 10);
    writer->commit();
    disk.full = true;
    add(11, 30);
    const std::string failure = failureOf([&] { writer->commit(); });
    EXPECT_NE(failure.find("10 of 30 samples are on disk"), std::string::npos) << failure;
    EXPECT_NE(failure.find(file.string()), std::string::npos) << failure;
    EXPECT_EQ(recorded().samples.size(), 10u);
    disk.full = false;
    writer->commit();
    EXPECT_EQ(recorded().samples.size(), 30u);
    EXPECT_EQ(writer->file(), file);
}

TEST_F(FailingDiskTest, EventsAndEndFindRoomWhereSamplesDoNot)
{
    add(1, 10);
    writer->commit();
    add(11, 2000);
    writer->add(Event{1, 2, "interlock", "trip", "over temperature"});
    disk.full = true;
    disk.freeBytes = 40'000;
    EXPECT_FALSE(failureOf([&] { writer->commit(); }).empty()) << "2000 samples need more than 40 kB";
    EXPECT_EQ(recorded().events.size(), 1u);
    EXPECT_FALSE(
        failureOf([&] { writer->end(Outcome::StoppedByLimit, "over temperature", "2026"); }).empty());
    EXPECT_EQ(recorded().events.size(), 1u);
    EXPECT_EQ(recorded().summary.outcome, Outcome::StoppedByLimit);
    EXPECT_NE(recorded().summary.outcomeText.find("of 2000 samples are on disk"), std::string::npos)
        << recorded().summary.outcomeText;
    EXPECT_GT(writer->kept().taken, writer->kept().onDisk);

    disk.full = false;
    writer->end(Outcome::StoppedByLimit, "over temperature", "2026");
    EXPECT_EQ(recorded().samples.size(), 2000u);
    EXPECT_EQ(recorded().summary.outcomeText, "over temperature") << "nothing is missing any more";
}

TEST_F(FailingDiskTest, ReserveStandsBesideTheOpenRunAndGoesWhenTheDiskIsFull)
{
    const std::filesystem::path reserve = file.string() + ".reserve";
    ASSERT_TRUE(std::filesystem::exists(reserve));
    EXPECT_EQ(std::filesystem::file_size(reserve), 4u << 20);
    disk.full = true;
    add(1, 1);
    failureOf([&] { writer->commit(); });
    EXPECT_FALSE(std::filesystem::exists(reserve));
    disk.full = false;
    writer->commit();
    EXPECT_TRUE(std::filesystem::exists(reserve)) << "taken again when there is room";
    writer->end(Outcome::Completed, "", "2026");
    EXPECT_FALSE(std::filesystem::exists(reserve));
}

TEST_F(FailingDiskTest, SamplesBeyondWhatMemoryHoldsAreThinnedAndCountedAndEventsAreNot)
{
    disk.full = true;
    constexpr long many = 40'000; // memory holds 36 000
    for (long seq = 1; seq <= many; ++seq) {
        writer->add(sampleAt(seq));
        if (seq % 1000 == 0)
            writer->add(Event{seq / 1000, 0, "note", "info", "n"});
    }
    disk.full = false;
    writer->end(Outcome::Completed, "done", "2026");
    const KeptSamples kept = writer->kept();
    EXPECT_EQ(kept.taken, many);
    EXPECT_GT(kept.dropped, 0);
    EXPECT_EQ(kept.onDisk, many - kept.dropped);
    const RecordedRun run = recorded();
    EXPECT_EQ(long(run.samples.size()), kept.onDisk);
    EXPECT_EQ(run.samples.back().seq, many);
    EXPECT_LE(run.samples.at(1).seq, 5) << "the beginning is coarser, not gone";
    EXPECT_EQ(run.events.size(), 40u);
    EXPECT_EQ(run.summary.outcomeText,
              "done. " + std::to_string(kept.onDisk) + " of 40000 samples are on disk.");
}

TEST_F(FailingDiskTest, FailedSyncBringsTheWholeRunIntoANewFileAndLeavesTheOldAlone)
{
    add(1, 10);
    writer->add(Event{1, 0, "state", "info", "heating"});
    writer->commit();
    disk.failsOnlyUnder = "runs.sqlite"; // the new file has another name
    disk.syncFails = true;
    add(11, 20);
    writer->commit();
    EXPECT_EQ(writer->file(), folder / ("runs-" + key + ".sqlite"));
    const std::vector<std::string> news = writer->takeNews();
    ASSERT_EQ(news.size(), 1u);
    EXPECT_NE(news[0].find(writer->file().string()), std::string::npos) << news[0];
    EXPECT_TRUE(writer->takeNews().empty());
    EXPECT_EQ(recorded().samples.size(), 20u);
    EXPECT_EQ(recorded().events.size(), 1u);
    EXPECT_EQ(recorded().planText, "{}");
    add(21, 30);
    writer->end(Outcome::Completed, "done", "2026");
    EXPECT_EQ(recorded().samples.size(), 30u);
    EXPECT_EQ(recorded().summary.outcome, Outcome::Completed);
    writer.reset();
    EXPECT_EQ(disk.writesAfterFailure, 0);

    disk.syncFails = false;
    writer = std::make_unique<RunWriter>(file);
    const RunSummary old = RunReader(file).runs().at(0);
    EXPECT_EQ(old.outcome, Outcome::Interrupted);
    EXPECT_NE(old.outcomeText.find("runs-" + key), std::string::npos) << old.outcomeText;
}

TEST_F(FailingDiskTest, DiskThatFailsForEveryFileKeepsTheRunInMemory)
{
    add(1, 10);
    disk.syncFails = true;
    EXPECT_FALSE(failureOf([&] { writer->commit(); }).empty());
    EXPECT_EQ(writer->file(), file);
    disk.syncFails = false;
    writer->end(Outcome::Completed, "done", "2026");
    EXPECT_NE(writer->file(), file) << "a sync that works after one that failed proves nothing";
    EXPECT_EQ(recorded().samples.size(), 10u);
    EXPECT_EQ(recorded().summary.outcome, Outcome::Completed);
}

TEST_F(FailingDiskTest, DiskThatFailsWhenARunBeginsLetsItBeginInANewFile)
{
    writer->end(Outcome::Completed, "", "2026");
    disk.failsOnlyUnder = "runs.sqlite";
    disk.syncFails = true;
    key = writer->begin("{}", "link", "2026-11-25T10:00:00Z");
    EXPECT_EQ(writer->file(), folder / ("runs-" + key + ".sqlite"));
    add(1, 3);
    writer->end(Outcome::Completed, "", "2026");
    EXPECT_EQ(recorded().samples.size(), 3u);
}

TEST_F(FailingDiskTest, BenchEventsStandInTheFileWithoutARun)
{
    writer->end(Outcome::Completed, "", "2026");
    writer->add(BenchEvent{"2026-11-25T10:00:00Z", "interlock", "trip", "warms unasked"});
    disk.full = true;
    failureOf([&] { writer->commit(); });
    disk.full = false;
    writer->commit();
    const std::vector<BenchEvent> events = RunReader(file).benchEvents();
    ASSERT_EQ(events.size(), 1u);
    EXPECT_EQ(events[0].atUtc, "2026-11-25T10:00:00Z");
    EXPECT_EQ(events[0].kind, "interlock");
    EXPECT_EQ(events[0].severity, "trip");
    EXPECT_EQ(events[0].text, "warms unasked");
}

} // namespace stripwright
