#include "runlog/log_file.h"

#include "messages/wire_names.h"
#include "runlog/schema.h"

#include <SQLiteCpp/VariadicBind.h>

#include <cerrno>
#include <cmath>
#include <cstring>
#include <fcntl.h>
#include <nlohmann/json.hpp>
#include <sqlite3.h>
#include <sys/file.h>
#include <unistd.h>

namespace stripwright {

static constexpr int busyTimeoutMs = 2000;
static constexpr int mostWalPages = 1000;

WriterLock::WriterLock(const std::filesystem::path& log)
{
    const std::string name = log.string() + ".lock";
    file_ = open(name.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (file_ < 0)
        throw RunLogError(name + ": cannot be written (" + std::strerror(errno) +
                          "); choose a folder that this user may write to");
    if (flock(file_, LOCK_EX | LOCK_NB) != 0) {
        close(file_);
        throw RunLogError(log.string() +
                          ": another controller is writing to this run log; end it or name another file");
    }
}

WriterLock::~WriterLock()
{
    close(file_);
}

DiskTrouble troubleOf(const SQLite::Exception& error)
{
    switch (error.getErrorCode() & 0xff) {
    case SQLITE_FULL:
        return DiskTrouble::Full;
    case SQLITE_IOERR:
        return error.getExtendedErrorCode() == SQLITE_IOERR_SHMSIZE ? DiskTrouble::Full : DiskTrouble::Failed;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return DiskTrouble::Failed;
    default:
        return DiskTrouble::Other;
    }
}

std::filesystem::path continuationOf(const std::filesystem::path& log, const std::string& runKey)
{
    return log.parent_path() / (log.stem().string() + "-" + runKey + log.extension().string());
}

LogFile::LogFile(const std::filesystem::path& file)
    : path_(file), lock_(file),
      database_(file.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, busyTimeoutMs)
{
    sqlite3_extended_result_codes(database_.getHandle(), 1);
    chooseDurability();
    // SQLite's own checkpoints keep their failures to themselves.
    sqlite3_wal_hook(
        database_.getHandle(),
        [](void* pages, sqlite3*, const char*, int count) {
            *static_cast<int*>(pages) = count;
            return SQLITE_OK;
        },
        &walPages_);
    makeSchema(database_, file);
}

void LogFile::chooseDurability()
{
    const std::string mode = database_.execAndGet("PRAGMA journal_mode = WAL").getString();
    database_.exec("PRAGMA synchronous = FULL");
    database_.exec("PRAGMA mmap_size = 0");
    const int synchronous = database_.execAndGet("PRAGMA synchronous").getInt();
    constexpr int full = 2;
    if (mode != "wal" || synchronous != full)
        throw RunLogError(path_.string() + ": found journal mode " + mode + ", synchronous " +
                          std::to_string(synchronous) +
                          ", expected wal and 2 (FULL); choose a folder on a local disk");
}

void LogFile::markInterrupted()
{
    SQLite::Transaction transaction(database_);
    SQLite::Statement open(database_,
                           "SELECT run, count(seq), max(time_s), key FROM runs LEFT JOIN samples USING (run) "
                           "WHERE outcome IS NULL GROUP BY run");
    SQLite::Statement mark(database_, "UPDATE runs SET outcome = ?, outcome_text = ? WHERE run = ?");
    while (open.executeStep()) {
        const long kept = open.getColumn(1).getInt64();
        std::string text = "The controller ended without closing the run. ";
        std::error_code error;
        const std::filesystem::path next = continuationOf(path_, open.getColumn(3).getString());
        if (std::filesystem::exists(next, error))
            text = "The disk failed; all of the run is in " + next.string() + ". Here: ";
        if (kept == 0) {
            text += "No sample was kept.";
        } else {
            char seconds[32];
            std::snprintf(seconds, sizeof seconds, "%.1f", open.getColumn(2).getDouble());
            text += std::to_string(kept) + (kept == 1 ? " sample is" : " samples are") +
                    " kept, the last at " + seconds + " s.";
        }
        mark.bind(1, wireName(Outcome::Interrupted));
        mark.bind(2, text);
        mark.bind(3, open.getColumn(0).getInt64());
        mark.exec();
        mark.reset();
    }
    transaction.commit();
}

static std::string titleOf(const std::string& planText)
{
    using nlohmann::json;
    const json plan = json::parse(planText, nullptr, false);
    const json title = plan.is_object() ? plan.value("/sheet/title"_json_pointer, json()) : json();
    return title.is_string() ? title.get<std::string>() : "";
}

std::string keyOf(long run, const std::string& startedUtc)
{
    std::string digits;
    for (char c : startedUtc)
        if (c >= '0' && c <= '9')
            digits += c;
    return digits + "-" + std::to_string(run);
}

void LogFile::begin(RunMemory& run)
{
    SQLite::Transaction transaction(database_, SQLite::TransactionBehavior::IMMEDIATE);
    const long number = database_.execAndGet("SELECT coalesce(max(run), 0) + 1 FROM runs").getInt64();
    const std::string key = run.key.empty() ? keyOf(number, run.startedUtc) : run.key;
    SQLite::Statement insert(
        database_,
        "INSERT INTO runs (run, key, started_utc, title, plan, plate_link) VALUES (?, ?, ?, ?, ?, ?)");
    SQLite::bind(insert, static_cast<int64_t>(number), key, run.startedUtc, titleOf(run.planText),
                 run.planText, run.plateLinkText);
    insert.exec();
    transaction.commit();
    run.key = key;
    run_ = number;
    channels_.clear();
    channelsCommitted_ = 0;
}

// A number that is none would be stored as NULL by SQLite as well; saying it here keeps infinities out too.
static void bindNumber(SQLite::Statement& statement, int column, std::optional<double> value)
{
    if (value && std::isfinite(*value))
        statement.bind(column, *value);
    else
        statement.bind(column);
}

size_t LogFile::channelIndex(const std::string& name)
{
    for (size_t i = 0; i < channels_.size(); ++i)
        if (channels_[i] == name)
            return i;
    channels_.push_back(name);
    return channels_.size() - 1;
}

void LogFile::insertSamples(const RunMemory& run, size_t until)
{
    SQLite::Statement row(database_,
                          "INSERT OR REPLACE INTO samples VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    SQLite::Statement extra(database_, "INSERT OR REPLACE INTO channel_values VALUES (?, ?, ?, ?)");
    for (size_t i = run.samplesOnDisk; i < until; ++i) {
        const Sample& sample = run.samples[i];
        row.bind(1, static_cast<int64_t>(run_));
        row.bind(2, static_cast<int64_t>(sample.seq));
        int column = 3;
        for (std::optional<double> value :
             {std::optional(sample.timeS), std::optional(sample.profileS), sample.sensorC,
              std::optional(sample.referenceC), std::optional(sample.expectedC), std::optional(sample.duty),
              sample.jointLowC, sample.jointNominalC, sample.jointHighC})
            bindNumber(row, column++, value);
        row.exec();
        row.reset();
        for (const auto& [name, value] : sample.extra) {
            extra.bind(1, static_cast<int64_t>(run_));
            extra.bind(2, static_cast<int64_t>(sample.seq));
            extra.bind(3, static_cast<int64_t>(channelIndex(name)));
            bindNumber(extra, 4, value);
            extra.exec();
            extra.reset();
        }
    }
}

void LogFile::insertChannels()
{
    SQLite::Statement row(database_, "INSERT OR REPLACE INTO channels VALUES (?, ?, ?)");
    for (size_t i = channelsCommitted_; i < channels_.size(); ++i) {
        SQLite::bind(row, static_cast<int64_t>(run_), static_cast<int64_t>(i), channels_[i]);
        row.exec();
        row.reset();
    }
}

void LogFile::insertEvents(const RunMemory& run)
{
    SQLite::Statement row(database_, "INSERT OR REPLACE INTO events VALUES (?, ?, ?, ?, ?, ?)");
    for (size_t i = run.eventsOnDisk; i < run.events.size(); ++i) {
        const Event& event = run.events[i];
        row.bind(1, static_cast<int64_t>(run_));
        row.bind(2, static_cast<int64_t>(event.seq));
        bindNumber(row, 3, event.timeS);
        row.bind(4, event.kind);
        row.bind(5, event.severity);
        row.bind(6, event.text);
        row.exec();
        row.reset();
    }
}

void LogFile::insertBenchEvents(const std::deque<BenchEvent>& benchEvents)
{
    SQLite::Statement row(database_,
                          "INSERT INTO bench_events (at_utc, kind, severity, text) VALUES (?, ?, ?, ?)");
    for (const BenchEvent& event : benchEvents) {
        SQLite::bind(row, event.atUtc, event.kind, event.severity, event.text);
        row.exec();
        row.reset();
    }
}

void LogFile::updateEnd(const RunMemory& run, long onDisk)
{
    std::string text = run.outcomeText;
    if (onDisk < run.taken)
        text += (text.empty()          ? ""
                 : text.ends_with('.') ? " "
                                       : ". ") +
                std::to_string(onDisk) + " of " + std::to_string(run.taken) + " samples are on disk.";
    SQLite::Statement update(database_,
                             "UPDATE runs SET outcome = ?, outcome_text = ?, ended_utc = ? WHERE run = ?");
    SQLite::bind(update, wireName(*run.outcome), text, run.endedUtc, static_cast<int64_t>(run_));
    update.exec();
}

void LogFile::write(RunMemory* run, std::deque<BenchEvent>& benchEvents, size_t mostSamples)
{
    const size_t until =
        run ? run->samplesOnDisk + std::min(mostSamples, run->samples.size() - run->samplesOnDisk) : 0;
    const bool samplesOrEnd = run && (until > run->samplesOnDisk || run->outcome);
    if (!samplesOrEnd && benchEvents.empty() && (!run || run->eventsOnDisk == run->events.size()))
        return;
    {
        SQLite::Transaction transaction(database_, SQLite::TransactionBehavior::IMMEDIATE);
        if (run) {
            insertSamples(*run, until);
            insertChannels();
            insertEvents(*run);
            if (run->outcome)
                updateEnd(*run, run->onlyOnDisk + static_cast<long>(until));
        }
        insertBenchEvents(benchEvents);
        transaction.commit();
    }
    if (run) {
        run->samplesOnDisk = until;
        run->eventsOnDisk = run->events.size();
        run->endOnDisk = run->outcome.has_value();
        channelsCommitted_ = channels_.size();
    }
    benchEvents.clear();
    checkpoint();
}

void LogFile::checkpoint()
{
    if (walPages_ < mostWalPages)
        return;
    const int result = sqlite3_wal_checkpoint_v2(database_.getHandle(), nullptr, SQLITE_CHECKPOINT_PASSIVE,
                                                 nullptr, nullptr);
    // Without room, or with somebody reading, the rows are as safe where they are.
    if ((result & 0xff) == SQLITE_IOERR || (result & 0xff) == SQLITE_CORRUPT)
        throw SQLite::Exception(database_.getHandle(), result);
}

void LogFile::leave()
{
    left_ = true;
    sqlite3_db_config(database_.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
}

} // namespace stripwright
