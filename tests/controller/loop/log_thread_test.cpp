#include "failing_disk.h"
#include "loop/log_thread.h"
#include "scratch_folder.h"

#include <functional>
#include <gtest/gtest.h>

namespace stripwright {

using namespace std::chrono_literals;

static bool waitFor(const std::function<bool()>& condition)
{
    for (int n = 0; n < 3000; ++n) {
        if (condition())
            return true;
        std::this_thread::sleep_for(10ms);
    }
    return false;
}

struct LogThreadTest : testing::Test {
    ScratchFolder folder;
    FailingDisk disk;
    std::filesystem::path file = folder / "runs.sqlite";
    std::unique_ptr<Rings> rings = std::make_unique<Rings>();
    std::unique_ptr<LogThread> log =
        std::make_unique<LogThread>(std::make_unique<RunWriter>(file), *rings, std::vector<std::string>{});
    CycleRecord record;

    void TearDown() override { log.reset(); }
    void push(long from, long to)
    {
        for (record.sampleSeq = from; record.sampleSeq <= to; ++record.sampleSeq)
            ASSERT_TRUE(rings->toLog.try_enqueue(record));
    }
    void pushEnd(long seq)
    {
        record.outcome = Outcome::Completed;
        std::snprintf(record.outcomeText.data(), record.outcomeText.size(), "done.");
        push(seq, seq);
        record.outcome.reset();
    }
    RecordedRun newest() const
    {
        const RunReader reader(file);
        return reader.read(reader.runs().at(0).key);
    }
};

TEST_F(LogThreadTest, FullDiskInMidRunIsSaidAndTheRunStaysOpenUntilAllOfItIsOnDisk)
{
    log->begin("{}", "link");
    push(1, 20);
    ASSERT_TRUE(waitFor([&] { return log->missing() == 0 && newest().samples.size() == 20; }));
    disk.full = true;
    push(21, 50);
    ASSERT_TRUE(waitFor([&] { return log->failing(); }));
    Remark remark;
    ASSERT_TRUE(waitFor([&] { return rings->fromLog.try_dequeue(remark); }));
    EXPECT_EQ(remark.severity, Severity::Warning);
    EXPECT_NE(std::string(remark.text.data()).find("20 of 50 samples are on disk"), std::string::npos)
        << remark.text.data();
    pushEnd(51);
    ASSERT_TRUE(waitFor([&] { return log->trouble().find("20 of 51") != std::string::npos; }))
        << log->trouble();
    EXPECT_TRUE(log->runOpen());
    EXPECT_EQ(log->missing(), 31);
    disk.full = false;
    ASSERT_TRUE(waitFor([&] { return !log->runOpen(); }));
    EXPECT_EQ(log->missing(), 0);
    EXPECT_EQ(log->trouble(), "");
    EXPECT_FALSE(log->failing());
    EXPECT_EQ(newest().samples.size(), 51u);
    EXPECT_EQ(newest().summary.outcomeText, "done.");
}

TEST_F(LogThreadTest, TroubleAfterTheEndIsToldAsANotice)
{
    log->begin("{}", "link");
    disk.full = true;
    pushEnd(1);
    std::optional<Event> notice;
    ASSERT_TRUE(waitFor([&] { return (notice = log->takeNotice()).has_value(); }));
    EXPECT_EQ(notice->severity, "warning");
    EXPECT_NE(notice->text.find("0 of 1 samples"), std::string::npos) << notice->text;
    Remark remark;
    EXPECT_FALSE(rings->fromLog.try_dequeue(remark)) << "the next run would say it";
    disk.full = false;
    ASSERT_TRUE(waitFor([&] { return !log->runOpen(); }));
}

TEST_F(LogThreadTest, RecordsThatNeverCameAreCountedAndSaidWithTheirRange)
{
    log->begin("{}", "link");
    push(1, 2);
    push(6, 6);
    Remark remark;
    ASSERT_TRUE(waitFor([&] { return rings->fromLog.try_dequeue(remark); }));
    EXPECT_NE(std::string(remark.text.data()).find("samples 3 to 5 (3)"), std::string::npos)
        << remark.text.data();
    pushEnd(7);
    ASSERT_TRUE(waitFor([&] { return !log->runOpen(); }));
    EXPECT_EQ(log->missing(), 3);
    EXPECT_NE(log->trouble().find("3 of 7 samples"), std::string::npos) << log->trouble();
    EXPECT_EQ(newest().summary.outcomeText, "done. 3 samples never reached the run log.");
    log->begin("{}", "link");
    EXPECT_EQ(log->missing(), 0) << "of the new run";
}

TEST_F(LogThreadTest, DiskThatDoesNotAnswerShowsAsSilence)
{
    log->begin("{}", "link");
    EXPECT_LT(log->silentFor(), 1500ms);
    disk.syncTakesMs = 3000;
    push(1, 5);
    ASSERT_TRUE(waitFor([&] { return log->silentFor() > 2s; }));
    disk.syncTakesMs = 0;
    ASSERT_TRUE(waitFor([&] { return log->silentFor() < 500ms; }));
    ASSERT_TRUE(waitFor([&] { return log->missing() == 0; }));
}

TEST_F(LogThreadTest, BeginThatTheDiskDoesNotAnswerIsRefusedAndClosedWhenItDoes)
{
    disk.syncTakesMs = 2000;
    EXPECT_THROW(log->begin("{}", "link", 100ms), RunLogError);
    EXPECT_THROW(log->begin("{}", "link", 100ms), RunLogError);
    disk.syncTakesMs = 0;
    ASSERT_TRUE(waitFor([&] {
        const auto runs = RunReader(file).runs();
        return !log->runOpen() && runs.size() == 1 && runs[0].outcome == Outcome::Failed;
    }));
    EXPECT_NE(log->begin("{}", "link"), "") << "the next one is taken";
}

TEST_F(LogThreadTest, NotesFromManyThreadsStandInTheFileOrAreCounted)
{
    std::atomic<int> taken = 0;
    std::vector<std::thread> threads;
    for (int t = 0; t < 4; ++t)
        threads.emplace_back([&, t] {
            for (int n = 0; n < 50; ++n)
                taken += log->note(Event{.kind = "interlock", .severity = "trip", .text = std::to_string(t)});
        });
    for (std::thread& thread : threads)
        thread.join();
    log.reset();
    int kept = 0, counted = 0;
    for (const BenchEvent& event : RunReader(file).benchEvents())
        if (event.kind == "interlock")
            ++kept;
        else
            counted += std::stoi(event.text);
    EXPECT_GE(kept, 64);
    EXPECT_EQ(kept, taken);
    EXPECT_EQ(kept + counted, 200);
}

} // namespace stripwright
