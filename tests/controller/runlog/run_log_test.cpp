#include "messages/solder_mark_text.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <bit>
#include <cmath>
#include <csignal>
#include <fstream>
#include <gtest/gtest.h>
#include <random>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

static const std::string plan = R"({"sheet": {"title": "Bar 7, LED 6"}})";

static Sample sampleAt(long seq)
{
    return {.seq = seq,
            .timeS = 0.2 * double(seq),
            .profileS = 0.2 * double(seq),
            .sensorC = 25 + 0.1 * double(seq),
            .referenceC = 25,
            .expectedC = 25,
            .duty = 0.5,
            .extra = {{"truth_joint_6_C", 24.9}, {"truth_plate_C", 25.1}}};
}

TEST(RunLog, NumbersReadBackToTheLastBit)
{
    ScratchFolder folder;
    std::mt19937_64 random(11);
    auto anyNumber = [&] {
        double value;
        do
            value = std::bit_cast<double>(random());
        while (!std::isfinite(value));
        return value;
    };
    std::vector<Sample> written;
    {
        RunWriter writer(folder / "runs.sqlite");
        const std::string key = writer.begin(plan, "link", "2026-11-25T09:08:07Z");
        for (long seq = 1; seq <= 300; ++seq) {
            Sample sample{.seq = seq,
                          .timeS = anyNumber(),
                          .profileS = anyNumber(),
                          .sensorC = anyNumber(),
                          .referenceC = anyNumber(),
                          .expectedC = anyNumber(),
                          .duty = anyNumber(),
                          .jointLowC = anyNumber(),
                          .jointNominalC = anyNumber(),
                          .jointHighC = anyNumber(),
                          .extra = {{"b_C", anyNumber()}, {"a_C", anyNumber()}}};
            writer.add(sample);
            written.push_back(sample);
        }
        writer.end(Outcome::Completed, "done", "2026-11-25T09:18:07Z");
        EXPECT_EQ(key, "20261125090807-1");
    }
    const RecordedRun run = RunReader(folder / "runs.sqlite").read("20261125090807-1");
    ASSERT_EQ(run.samples.size(), written.size());
    auto bits = [](std::optional<double> value) { return std::bit_cast<std::uint64_t>(value.value()); };
    for (size_t i = 0; i < written.size(); ++i) {
        const Sample &read = run.samples[i], &wrote = written[i];
        EXPECT_EQ(read.seq, wrote.seq);
        EXPECT_EQ(bits(read.timeS), bits(wrote.timeS));
        EXPECT_EQ(bits(read.profileS), bits(wrote.profileS));
        EXPECT_EQ(bits(read.sensorC), bits(wrote.sensorC));
        EXPECT_EQ(bits(read.referenceC), bits(wrote.referenceC));
        EXPECT_EQ(bits(read.expectedC), bits(wrote.expectedC));
        EXPECT_EQ(bits(read.duty), bits(wrote.duty));
        EXPECT_EQ(bits(read.jointLowC), bits(wrote.jointLowC));
        EXPECT_EQ(bits(read.jointNominalC), bits(wrote.jointNominalC));
        EXPECT_EQ(bits(read.jointHighC), bits(wrote.jointHighC));
        EXPECT_EQ(read.extra, wrote.extra);
    }
}

TEST(RunLog, KeepsPlanLinkEventsAndOutcome)
{
    ScratchFolder folder;
    RunWriter writer(folder / "new/folder/runs.sqlite");
    const std::string first = writer.begin(plan, "link text", "2026-11-25T09:00:00Z");
    writer.add(Event{1, 0.2, "state", "info", "heating"});
    writer.add(Event{2, 0.4, "interlock", "trip", "over temperature"});
    writer.end(Outcome::StoppedByLimit, "over temperature", "2026-11-25T09:10:00Z");
    const std::string second = writer.begin("no json", "", "2026-11-25T09:20:00Z");

    RunReader reader(folder / "new/folder/runs.sqlite");
    const std::vector<RunSummary> runs = reader.runs();
    ASSERT_EQ(runs.size(), 2u);
    EXPECT_EQ(runs[0].key, second);
    EXPECT_EQ(runs[0].outcome, std::nullopt);
    EXPECT_EQ(runs[0].title, "");
    EXPECT_EQ(runs[1].key, first);
    EXPECT_EQ(runs[1].title, "Bar 7, LED 6");
    const RecordedRun run = reader.read(first);
    EXPECT_EQ(run.planText, plan);
    EXPECT_EQ(run.plateLinkText, "link text");
    EXPECT_EQ(run.summary.startedUtc, "2026-11-25T09:00:00Z");
    EXPECT_EQ(run.summary.endedUtc, "2026-11-25T09:10:00Z");
    EXPECT_EQ(run.summary.outcome, Outcome::StoppedByLimit);
    EXPECT_EQ(run.summary.outcomeText, "over temperature");
    ASSERT_EQ(run.events.size(), 2u);
    EXPECT_EQ(run.events[1].seq, 2);
    EXPECT_EQ(run.events[1].timeS, 0.4);
    EXPECT_EQ(run.events[1].kind, "interlock");
    EXPECT_EQ(run.events[1].severity, "trip");
    EXPECT_EQ(run.events[1].text, "over temperature");
    EXPECT_THROW(reader.read("no-such-run"), RunLogError);
}

TEST(RunLog, AMarkOfTheHandsComesBackFromTheTablesThatEveryVersionHas)
{
    ScratchFolder folder;
    const MarkedSolder mark{
        .site = 6, .liquid = true, .beforeC = 131.2, .afterC = 138, .meltsFromC = 138, .meltsUpToC = 138};
    char text[400];
    writeMarkText(mark, text, sizeof text);
    RunWriter writer(folder / "runs.sqlite");
    const std::string key = writer.begin(plan, "", "2026-11-25T09:00:00Z");
    writer.add(Event{1, 148.2, markKind, "info", text});
    writer.end(Outcome::Completed, "", "2026-11-25T09:10:00Z");
    const RecordedRun run = RunReader(folder / "runs.sqlite").read(key);
    ASSERT_EQ(run.events.size(), 1u);
    EXPECT_EQ(run.events[0].timeS, 148.2);
    const auto back = markOf(run.events[0]);
    ASSERT_TRUE(back);
    EXPECT_EQ(back->site, 6);
    EXPECT_TRUE(back->liquid);
    EXPECT_EQ(back->beforeC, 131.2);
    EXPECT_EQ(back->afterC, 138);
    EXPECT_EQ(back->meltsFromC, 138);
}

TEST(RunLog, ValueThatIsAbsentOrNoNumberIsNull)
{
    ScratchFolder folder;
    {
        RunWriter writer(folder / "runs.sqlite");
        writer.begin(plan, "", "2026");
        Sample sample = sampleAt(1);
        sample.sensorC.reset();
        sample.jointHighC = std::nan("");
        sample.extra = {{"a_C", INFINITY}, {"b_C", 3}};
        writer.add(sample);
        writer.end(Outcome::Completed, "", "2026");
    }
    SQLite::Database database((folder / "runs.sqlite").string());
    EXPECT_EQ(
        database.execAndGet("SELECT count(*) FROM samples WHERE sensor_C IS NULL AND joint_high_C IS NULL")
            .getInt(),
        1);
    const Sample read = RunReader(folder / "runs.sqlite").read("2026-1").samples.at(0);
    EXPECT_EQ(read.sensorC, std::nullopt);
    EXPECT_EQ(read.jointHighC, std::nullopt);
    EXPECT_EQ(read.extra, (std::vector<std::pair<std::string, double>>{{"b_C", 3}}));
}

TEST(RunLog, SameRowAddedTwiceStandsOnce)
{
    ScratchFolder folder;
    RunWriter writer(folder / "runs.sqlite");
    const std::string key = writer.begin(plan, "", "2026");
    writer.add(sampleAt(1));
    writer.commit();
    writer.add(sampleAt(1));
    writer.add(sampleAt(2));
    writer.commit();
    EXPECT_EQ(RunReader(folder / "runs.sqlite").read(key).samples.size(), 2u);
}

TEST(RunLog, IsWalWithSynchronousFullAndReadableWhileWritten)
{
    ScratchFolder folder;
    RunWriter writer(folder / "runs.sqlite");
    const std::string key = writer.begin(plan, "", "2026");
    RunReader reader(folder / "runs.sqlite");
    EXPECT_EQ(reader.read(key).samples.size(), 0u);
    for (long seq = 1; seq <= 20; ++seq) {
        writer.add(sampleAt(seq));
        EXPECT_EQ(reader.read(key).samples.size(), size_t(seq - 1)) << "not committed, not seen";
        writer.commit();
        EXPECT_EQ(reader.read(key).samples.size(), size_t(seq));
    }
    std::ifstream file(folder / "runs.sqlite", std::ios::binary);
    std::string header(20, '\0');
    file.read(header.data(), 20);
    EXPECT_EQ(header[18], 2) << "SQLite file format: write version 2 is WAL";
    EXPECT_GT(std::filesystem::file_size(folder / "runs.sqlite-wal"), 0u);
}

/// Writes until killed; reports every committed seq over a pipe.
static void writeForEver(const std::filesystem::path& file, int committed)
{
    RunWriter writer(file);
    writer.begin(plan, "", "2026-11-25T09:00:00Z");
    for (long seq = 1;; ++seq) {
        writer.add(sampleAt(seq));
        writer.add(Event{seq, double(seq), "note", "info", "n"});
        if (seq % 5 == 0) {
            writer.commit();
            if (write(committed, &seq, sizeof seq) != sizeof seq)
                _exit(1);
        }
    }
}

TEST(RunLog, KilledWriterLosesNoCommittedSampleAndLeavesAnInterruptedRun)
{
    ScratchFolder folder;
    std::mt19937 random(5);
    for (int round = 0; round < 20; ++round) {
        int ends[2];
        ASSERT_EQ(pipe(ends), 0);
        const pid_t child = fork();
        if (child == 0)
            writeForEver(folder / "runs.sqlite", ends[1]);
        close(ends[1]);
        long last = 0, seq = 0;
        const long killAfter = 5 * (1 + long(random() % 40));
        while (last < killAfter && read(ends[0], &seq, sizeof seq) == sizeof seq)
            last = seq;
        kill(child, SIGKILL);
        while (read(ends[0], &seq, sizeof seq) == sizeof seq)
            last = seq;
        close(ends[0]);
        int status = 0;
        waitpid(child, &status, 0);
        ASSERT_TRUE(WIFSIGNALED(status));

        const std::string key = "20261125090000-" + std::to_string(round + 1);
        EXPECT_EQ(RunReader(folder / "runs.sqlite").read(key).summary.outcome, std::nullopt)
            << "no writer has looked yet";
        RunWriter next(folder / "runs.sqlite");
        const RecordedRun run = RunReader(folder / "runs.sqlite").read(key);
        EXPECT_GE(run.samples.size(), size_t(last));
        for (size_t i = 0; i < run.samples.size(); ++i)
            ASSERT_EQ(run.samples[i].seq, long(i) + 1) << "a gap";
        EXPECT_EQ(run.events.size(), run.samples.size());
        EXPECT_EQ(run.summary.outcome, Outcome::Interrupted);
        EXPECT_NE(run.summary.outcomeText.find(std::to_string(run.samples.size()) + " samples are kept"),
                  std::string::npos)
            << run.summary.outcomeText;
    }
    SQLite::Database database((folder / "runs.sqlite").string());
    EXPECT_EQ(database.execAndGet("PRAGMA integrity_check").getString(), "ok");
}

TEST(RunLog, SecondWriterIsRefusedAndTheFirstGoesOn)
{
    ScratchFolder folder;
    RunWriter writer(folder / "runs.sqlite");
    const std::string key = writer.begin(plan, "", "2026");
    EXPECT_THROW(RunWriter(folder / "runs.sqlite"), RunLogError);
    writer.add(sampleAt(1));
    writer.commit();
    const RecordedRun run = RunReader(folder / "runs.sqlite").read(key);
    EXPECT_EQ(run.summary.outcome, std::nullopt);
    EXPECT_EQ(run.samples.size(), 1u);
}

TEST(RunLog, CommitThatFailsKeepsWhatWasAddedForTheNext)
{
    ScratchFolder folder;
    RunWriter writer(folder / "runs.sqlite");
    const std::string key = writer.begin(plan, "", "2026");
    {
        SQLite::Database other((folder / "runs.sqlite").string(), SQLite::OPEN_READWRITE);
        other.exec("BEGIN IMMEDIATE");
        writer.add(sampleAt(1));
        writer.add(Event{1, 0, "note", "info", "kept"});
        EXPECT_THROW(writer.commit(), RunLogError);
        writer.add(sampleAt(2));
        other.exec("ROLLBACK");
    }
    writer.commit();
    const RecordedRun run = RunReader(folder / "runs.sqlite").read(key);
    EXPECT_EQ(run.samples.size(), 2u);
    EXPECT_EQ(run.samples.at(0).extra.size(), 2u) << "channel names must survive the failed transaction";
    EXPECT_EQ(run.events.size(), 1u);
}

static std::string refusalOf(const std::filesystem::path& file)
{
    try {
        RunWriter writer(file);
    } catch (const RunLogError& error) {
        return error.what();
    }
    ADD_FAILURE() << file << " was taken as a run log";
    return "";
}

TEST(RunLog, FilesThatAreNoRunLogAreRefusedUnchanged)
{
    ScratchFolder folder;
    std::ofstream(folder / "text") << std::string(5000, 'x');
    EXPECT_NE(refusalOf(folder / "text").find("text"), std::string::npos);
    EXPECT_EQ(std::filesystem::file_size(folder / "text"), 5000u);
    {
        SQLite::Database other((folder / "other").string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
        other.exec("CREATE TABLE t (x)");
    }
    EXPECT_NE(refusalOf(folder / "other").find("no run log"), std::string::npos);
    EXPECT_NE(refusalOf("/proc/no/runs.sqlite").find("/proc/no"), std::string::npos);
    EXPECT_THROW(RunReader(folder / "absent"), RunLogError);
    EXPECT_FALSE(std::filesystem::exists(folder / "absent"));
}

} // namespace stripwright
