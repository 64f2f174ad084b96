#include "messages/wire_names.h"
#include "runlog/schema.h"

#include <SQLiteCpp/VariadicBind.h>

#include <cerrno>
#include <cmath>
#include <cstring>
#include <deque>
#include <fcntl.h>
#include <nlohmann/json.hpp>
#include <sys/file.h>
#include <unistd.h>

namespace stripwright {

static constexpr std::uintmax_t freeBytesToStart = 50u << 20;
static constexpr size_t mostPendingSamples = 100'000; // a disk that stays full must not eat the memory
static constexpr int busyTimeoutMs = 2000;

/// Holds a lock on a file beside the log for the life of this process: two writers on one SQLite file in WAL
/// mode may corrupt it (the WAL-reset fault of SQLite before 3.51.3), and a second one would mark the first
/// one's run interrupted.
class WriterLock {
public:
    explicit WriterLock(const std::filesystem::path& log)
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
    ~WriterLock() { close(file_); }
    WriterLock(const WriterLock&) = delete;
    WriterLock& operator=(const WriterLock&) = delete;

private:
    int file_ = -1;
};

static const std::filesystem::path& withRoom(const std::filesystem::path& file)
{
    std::error_code error;
    const std::filesystem::path folder = std::filesystem::absolute(file).parent_path();
    std::filesystem::create_directories(folder, error);
    if (error)
        throw RunLogError(folder.string() + ": cannot be made (" + error.message() +
                          "); choose a folder that this user may write to");
    const auto space = std::filesystem::space(folder, error);
    if (!error && space.available < freeBytesToStart)
        throw RunLogError(folder.string() + ": found " + std::to_string(space.available >> 20) +
                          " MiB free, expected at least 50 MiB to start a run; free some space");
    return file;
}

struct RunWriter::Work {
    explicit Work(const std::filesystem::path& path)
        : file(withRoom(path)), lock(path),
          database(path.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, busyTimeoutMs)
    {
    }

    std::filesystem::path file;
    WriterLock lock;
    SQLite::Database database;
    long run = 0; // 0: none is open
    std::deque<Sample> samples;
    std::deque<Event> events;
    std::vector<std::string> channels; // of this run, by index
    size_t channelsCommitted = 0;

    RunLogError failure(const SQLite::Exception& error) const
    {
        return RunLogError(file.string() + ": cannot be written (" + error.what() +
                           "); check the free space and the rights of this folder");
    }

    void chooseDurability();
    void markInterrupted();
    size_t channelIndex(const std::string& name);
    void insertSamples();
    void insertEvents();
    void insertChannels();
};

void RunWriter::Work::chooseDurability()
{
    const std::string mode = database.execAndGet("PRAGMA journal_mode = WAL").getString();
    database.exec("PRAGMA synchronous = FULL");
    database.exec("PRAGMA mmap_size = 0");
    const int synchronous = database.execAndGet("PRAGMA synchronous").getInt();
    constexpr int full = 2;
    if (mode != "wal" || synchronous != full)
        throw RunLogError(file.string() + ": found journal mode " + mode + ", synchronous " +
                          std::to_string(synchronous) +
                          ", expected wal and 2 (FULL); choose a folder on a local disk");
}

void RunWriter::Work::markInterrupted()
{
    SQLite::Transaction transaction(database);
    SQLite::Statement open(database,
                           "SELECT run, count(seq), max(time_s) FROM runs LEFT JOIN samples USING (run) "
                           "WHERE outcome IS NULL GROUP BY run");
    SQLite::Statement mark(database, "UPDATE runs SET outcome = ?, outcome_text = ? WHERE run = ?");
    while (open.executeStep()) {
        const long kept = open.getColumn(1).getInt64();
        std::string text = "The controller ended without closing the run. ";
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

RunWriter::RunWriter(const std::filesystem::path& file)
{
    try {
        work_ = std::make_unique<Work>(file);
        work_->chooseDurability();
        makeSchema(work_->database, file);
        work_->markInterrupted();
    } catch (const SQLite::Exception& error) {
        throw RunLogError(file.string() + ": cannot be opened as a run log (" + error.what() +
                          "); check the rights of this folder, or name another file");
    }
}

RunWriter::~RunWriter()
{
    try {
        commit();
    } catch (const RunLogError&) {
        // The caller heard it from its own last commit().
    }
}

static std::string titleOf(const std::string& planText)
{
    using nlohmann::json;
    const json plan = json::parse(planText, nullptr, false);
    const json title = plan.is_object() ? plan.value("/sheet/title"_json_pointer, json()) : json();
    return title.is_string() ? title.get<std::string>() : "";
}

static std::string keyOf(long run, const std::string& startedUtc)
{
    std::string digits;
    for (char c : startedUtc)
        if (c >= '0' && c <= '9')
            digits += c;
    return digits + "-" + std::to_string(run);
}

std::string RunWriter::begin(const std::string& planText, const std::string& plateLinkText,
                             const std::string& startedUtc)
{
    if (work_->run)
        throw RunLogError(work_->file.string() + ": a run is open; it must end before another starts");
    try {
        SQLite::Transaction transaction(work_->database);
        const long run = work_->database.execAndGet("SELECT coalesce(max(run), 0) + 1 FROM runs").getInt64();
        const std::string key = keyOf(run, startedUtc);
        SQLite::Statement insert(work_->database,
                                 "INSERT INTO runs (run, key, started_utc, title, plan, plate_link) "
                                 "VALUES (?, ?, ?, ?, ?, ?)");
        SQLite::bind(insert, static_cast<int64_t>(run), key, startedUtc, titleOf(planText), planText,
                     plateLinkText);
        insert.exec();
        transaction.commit();
        work_->run = run;
        work_->samples.clear();
        work_->events.clear();
        work_->channels.clear();
        work_->channelsCommitted = 0;
        return key;
    } catch (const SQLite::Exception& error) {
        throw work_->failure(error);
    }
}

void RunWriter::add(const Sample& sample)
{
    work_->samples.push_back(sample);
    if (work_->samples.size() > mostPendingSamples)
        work_->samples.pop_front();
}

void RunWriter::add(const Event& event)
{
    work_->events.push_back(event);
}

// A number that is none would be stored as NULL by SQLite as well; saying it here keeps infinities out too.
static void bindNumber(SQLite::Statement& statement, int column, std::optional<double> value)
{
    if (value && std::isfinite(*value))
        statement.bind(column, *value);
    else
        statement.bind(column);
}

size_t RunWriter::Work::channelIndex(const std::string& name)
{
    for (size_t i = 0; i < channels.size(); ++i)
        if (channels[i] == name)
            return i;
    channels.push_back(name);
    return channels.size() - 1;
}

void RunWriter::Work::insertSamples()
{
    SQLite::Statement row(database,
                          "INSERT OR REPLACE INTO samples VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    SQLite::Statement extra(database, "INSERT OR REPLACE INTO channel_values VALUES (?, ?, ?, ?)");
    for (const Sample& sample : samples) {
        row.bind(1, static_cast<int64_t>(run));
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
            extra.bind(1, static_cast<int64_t>(run));
            extra.bind(2, static_cast<int64_t>(sample.seq));
            extra.bind(3, static_cast<int64_t>(channelIndex(name)));
            bindNumber(extra, 4, value);
            extra.exec();
            extra.reset();
        }
    }
}

void RunWriter::Work::insertChannels()
{
    SQLite::Statement row(database, "INSERT OR REPLACE INTO channels VALUES (?, ?, ?)");
    for (size_t i = channelsCommitted; i < channels.size(); ++i) {
        SQLite::bind(row, static_cast<int64_t>(run), static_cast<int64_t>(i), channels[i]);
        row.exec();
        row.reset();
    }
}

void RunWriter::Work::insertEvents()
{
    SQLite::Statement row(database, "INSERT OR REPLACE INTO events VALUES (?, ?, ?, ?, ?, ?)");
    for (const Event& event : events) {
        row.bind(1, static_cast<int64_t>(run));
        row.bind(2, static_cast<int64_t>(event.seq));
        bindNumber(row, 3, event.timeS);
        row.bind(4, event.kind);
        row.bind(5, event.severity);
        row.bind(6, event.text);
        row.exec();
        row.reset();
    }
}

void RunWriter::commit()
{
    if (!work_->run || (work_->samples.empty() && work_->events.empty()))
        return;
    try {
        SQLite::Transaction transaction(work_->database, SQLite::TransactionBehavior::IMMEDIATE);
        work_->insertSamples();
        work_->insertChannels();
        work_->insertEvents();
        transaction.commit();
    } catch (const SQLite::Exception& error) {
        throw work_->failure(error);
    }
    work_->channelsCommitted = work_->channels.size();
    work_->samples.clear();
    work_->events.clear();
}

void RunWriter::end(Outcome outcome, const std::string& text, const std::string& endedUtc)
{
    if (!work_->run)
        throw RunLogError(work_->file.string() + ": no run is open that could end");
    commit();
    try {
        SQLite::Transaction transaction(work_->database, SQLite::TransactionBehavior::IMMEDIATE);
        SQLite::Statement update(
            work_->database, "UPDATE runs SET outcome = ?, outcome_text = ?, ended_utc = ? WHERE run = ?");
        SQLite::bind(update, wireName(outcome), text, endedUtc, static_cast<int64_t>(work_->run));
        update.exec();
        transaction.commit();
    } catch (const SQLite::Exception& error) {
        throw work_->failure(error);
    }
    work_->run = 0;
}

} // namespace stripwright
