#pragma once

#include "runlog/run_memory.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace stripwright {

/// Holds a lock on a file beside the log for the life of this process: two writers on one SQLite file in WAL
/// mode may corrupt it (the WAL-reset fault of SQLite before 3.51.3), and a second one would mark the first
/// one's run interrupted.
class WriterLock {
public:
    explicit WriterLock(const std::filesystem::path& log);
    ~WriterLock();
    WriterLock(const WriterLock&) = delete;
    WriterLock& operator=(const WriterLock&) = delete;

private:
    int file_ = -1;
};

enum class DiskTrouble { Full, Failed, Other };
DiskTrouble troubleOf(const SQLite::Exception& error);

std::string keyOf(long run, const std::string& startedUtc);

/// Where a run goes on when the disk under `log` failed.
std::filesystem::path continuationOf(const std::filesystem::path& log, const std::string& runKey);

/// One SQLite file that is written, and the run in it that is open. Throws SQLite::Exception; what was to be
/// written then stands as it did.
class LogFile {
public:
    /// Makes the tables if need be. Throws RunLogError if the file is no run log or cannot be made durable.
    explicit LogFile(const std::filesystem::path& file);

    void markInterrupted();

    /// Commits the run's row. Gives it a key if it has none.
    void begin(RunMemory& run);

    /// Events, bench events and the end, and so many of the samples as are wanted, in one transaction. Then
    /// sees to it that the write-ahead file does not grow for ever.
    void write(RunMemory* run, std::deque<BenchEvent>& benchEvents, size_t mostSamples);

    /// The disk under it failed: nothing is written any more, not even when it is closed.
    void leave();
    bool left() const { return left_; }

    const std::filesystem::path& path() const { return path_; }

private:
    void chooseDurability();
    size_t channelIndex(const std::string& name);
    void insertSamples(const RunMemory& run, size_t until);
    void insertChannels();
    void insertEvents(const RunMemory& run);
    void insertBenchEvents(const std::deque<BenchEvent>& benchEvents);
    void updateEnd(const RunMemory& run, long onDisk);
    void checkpoint();

    std::filesystem::path path_;
    WriterLock lock_;
    SQLite::Database database_;
    long run_ = 0;
    std::vector<std::string> channels_; // of this run, by index
    size_t channelsCommitted_ = 0;
    int walPages_ = 0;
    bool left_ = false;
};

} // namespace stripwright
