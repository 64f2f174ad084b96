#include "messages/wire_names.h"
#include "runlog/schema.h"

#include <cmath>
#include <sqlite3.h>

namespace stripwright {

// A window that reads must not freeze when the writer is at it.
static constexpr int busyTimeoutMs = 250;

struct RunReader::Work {
    explicit Work(const std::filesystem::path& path)
        : file(path), database(path.string(), SQLite::OPEN_READONLY, busyTimeoutMs)
    {
        // Only the writer's connection checkpoints: two that do may corrupt the file in SQLite before 3.51.3.
        sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
        database.exec("PRAGMA mmap_size = 0");
        version = checkSchema(database, file);
    }

    int version = 0;
    std::filesystem::path file;
    mutable SQLite::Database database;

    RunLogError failure(const SQLite::Exception& error) const
    {
        return RunLogError(file.string() + ": cannot be read as a run log (" + error.what() + ")");
    }
};

RunReader::RunReader(const std::filesystem::path& file)
{
    std::error_code error;
    if (!std::filesystem::exists(file, error))
        throw RunLogError(file.string() +
                          ": found no file, expected a run log; one is made by the first run");
    if (std::filesystem::is_directory(file, error))
        throw RunLogError(file.string() + ": is a folder, expected a run log; name the file");
    if (std::filesystem::is_regular_file(file, error) && std::filesystem::file_size(file, error) == 0)
        throw RunLogError(file.string() + ": is empty, expected a run log; one is made by the first run");
    try {
        work_ = std::make_unique<Work>(file);
    } catch (const SQLite::Exception& failure) {
        if ((failure.getErrorCode() & 0xff) == SQLITE_NOTADB)
            throw RunLogError(file.string() +
                              ": found a file that is no run log, expected one of Stripwright; name another "
                              "file");
        throw RunLogError(file.string() + ": cannot be read as a run log (" + failure.what() + ")");
    }
}

RunReader::~RunReader() = default;

static constexpr const char* summaryColumns =
    "SELECT key, started_utc, coalesce(ended_utc, ''), title, outcome, coalesce(outcome_text, ''), "
    "(SELECT count(*) FROM samples WHERE samples.run = runs.run), run, plan, plate_link FROM runs ";

static RunSummary summaryOf(SQLite::Statement& row)
{
    RunSummary summary;
    summary.key = row.getColumn(0).getString();
    summary.startedUtc = row.getColumn(1).getString();
    summary.endedUtc = row.getColumn(2).getString();
    summary.title = row.getColumn(3).getString();
    if (!row.getColumn(4).isNull())
        summary.outcome = outcomeNamed(row.getColumn(4).getString());
    summary.outcomeText = row.getColumn(5).getString();
    summary.samples = row.getColumn(6).getInt64();
    return summary;
}

std::vector<RunSummary> RunReader::runs() const
{
    try {
        std::vector<RunSummary> all;
        SQLite::Statement row(work_->database, std::string(summaryColumns) + "ORDER BY run DESC");
        while (row.executeStep())
            all.push_back(summaryOf(row));
        return all;
    } catch (const SQLite::Exception& error) {
        throw work_->failure(error);
    }
}

static std::optional<double> optionalNumber(const SQLite::Column& column)
{
    return column.isNull() ? std::nullopt : std::optional(column.getDouble());
}

static double number(const SQLite::Column& column)
{
    return column.isNull() ? std::nan("") : column.getDouble();
}

static std::vector<Sample> readSamples(SQLite::Database& database, long run)
{
    std::vector<Sample> samples;
    SQLite::Statement row(
        database, "SELECT seq, time_s, profile_s, sensor_C, reference_C, expected_C, duty, "
                  "joint_low_C, joint_nominal_C, joint_high_C FROM samples WHERE run = ? ORDER BY seq");
    row.bind(1, static_cast<int64_t>(run));
    while (row.executeStep()) {
        Sample sample;
        sample.seq = row.getColumn(0).getInt64();
        sample.timeS = number(row.getColumn(1));
        sample.profileS = number(row.getColumn(2));
        sample.sensorC = optionalNumber(row.getColumn(3));
        sample.referenceC = number(row.getColumn(4));
        sample.expectedC = number(row.getColumn(5));
        sample.duty = number(row.getColumn(6));
        sample.jointLowC = optionalNumber(row.getColumn(7));
        sample.jointNominalC = optionalNumber(row.getColumn(8));
        sample.jointHighC = optionalNumber(row.getColumn(9));
        samples.push_back(std::move(sample));
    }
    return samples;
}

static void readChannels(SQLite::Database& database, long run, std::vector<Sample>& samples)
{
    SQLite::Statement row(database,
                          "SELECT seq, name, value FROM channel_values JOIN channels USING (run, channel) "
                          "WHERE run = ? AND value IS NOT NULL ORDER BY seq, channel");
    row.bind(1, static_cast<int64_t>(run));
    auto sample = samples.begin();
    while (row.executeStep()) {
        const long seq = row.getColumn(0).getInt64();
        while (sample != samples.end() && sample->seq < seq)
            ++sample;
        if (sample != samples.end() && sample->seq == seq)
            sample->extra.emplace_back(row.getColumn(1).getString(), row.getColumn(2).getDouble());
    }
}

static std::vector<Event> readEvents(SQLite::Database& database, long run)
{
    std::vector<Event> events;
    SQLite::Statement row(database,
                          "SELECT seq, time_s, kind, severity, text FROM events WHERE run = ? ORDER BY seq");
    row.bind(1, static_cast<int64_t>(run));
    while (row.executeStep())
        events.push_back({.seq = row.getColumn(0).getInt64(),
                          .timeS = number(row.getColumn(1)),
                          .kind = row.getColumn(2).getString(),
                          .severity = row.getColumn(3).getString(),
                          .text = row.getColumn(4).getString()});
    return events;
}

RecordedRun RunReader::read(const std::string& key) const
{
    try {
        SQLite::Database& database = work_->database;
        const SQLite::Transaction oneView(database); // rows that land meanwhile belong to the next read
        SQLite::Statement row(database, std::string(summaryColumns) + "WHERE key = ?");
        row.bind(1, key);
        if (!row.executeStep())
            throw RunLogError(work_->file.string() + ": found no run " + key +
                              ", expected the key of one in this log");
        RecordedRun run;
        run.summary = summaryOf(row);
        const long number = row.getColumn(7).getInt64();
        run.planText = row.getColumn(8).getString();
        run.plateLinkText = row.getColumn(9).getString();
        run.samples = readSamples(database, number);
        readChannels(database, number, run.samples);
        run.events = readEvents(database, number);
        return run;
    } catch (const SQLite::Exception& error) {
        throw work_->failure(error);
    }
}

std::vector<BenchEvent> RunReader::benchEvents() const
{
    std::vector<BenchEvent> all;
    if (work_->version < 2)
        return all;
    try {
        SQLite::Statement row(work_->database,
                              "SELECT at_utc, kind, severity, text FROM bench_events ORDER BY seq");
        while (row.executeStep())
            all.push_back({row.getColumn(0).getString(), row.getColumn(1).getString(),
                           row.getColumn(2).getString(), row.getColumn(3).getString()});
    } catch (const SQLite::Exception& error) {
        throw work_->failure(error);
    }
    return all;
}

} // namespace stripwright
