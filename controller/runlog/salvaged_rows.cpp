#include "runlog/salvaged_rows.h"

#include <sqlite3.h>

namespace stripwright {

namespace {

/// Copies row by row what can be read.
class Salvager {
public:
    Salvager(SQLite::Database& from, SQLite::Database& to) : from_(from), to_(to) {}
    Salvaged work();

private:
    long highest(const std::string& sql, long run = 0);
    bool copyRun(long run, bool leftTrace);
    struct Rows {
        long copied = 0, highestSeq = 0;
    };
    Rows copyRows(const std::string& table, int columns, long run);
    long copySpan(const std::string& table, int columns, long run, const std::string& where);
    bool copyColumns(SQLite::Statement& row, SQLite::Statement& insert, int columns);
    long copyBenchEvents();
    std::optional<std::string> text(const char* column, long run);

    SQLite::Database &from_, &to_;
};

/// SQLite's own way back from the far end of a table, where the way from its start is broken.
long Salvager::highest(const std::string& sql, long run)
{
    try {
        SQLite::Statement row(from_, sql);
        if (run > 0)
            row.bind(1, static_cast<int64_t>(run));
        if (row.executeStep())
            return row.getColumn(0).getInt64();
    } catch (const SQLite::Exception&) {
    }
    return 0;
}

bool Salvager::copyColumns(SQLite::Statement& row, SQLite::Statement& insert, int columns)
{
    for (int i = 0; i < columns; ++i) {
        const SQLite::Column value = row.getColumn(i);
        if (value.isNull())
            insert.bind(i + 1);
        else if (value.isInteger())
            insert.bind(i + 1, value.getInt64());
        else if (value.isFloat())
            insert.bind(i + 1, value.getDouble());
        else
            insert.bind(i + 1, value.getString());
    }
    try {
        insert.exec();
    } catch (const SQLite::Exception& error) {
        if ((error.getErrorCode() & 0xff) != SQLITE_CONSTRAINT)
            throw RunLogError(std::string("the salvaged rows cannot be written (") + error.what() +
                              "); free some space");
        insert.reset();
        return false; // a row that breaks the rules of its table is damage too
    }
    insert.reset();
    return true;
}

static std::string insertInto(const std::string& table, int columns)
{
    std::string sql = "INSERT OR IGNORE INTO " + table + " VALUES (?";
    for (int i = 1; i < columns; ++i)
        sql += ", ?";
    return sql + ")";
}

/// Returns the seq of the last row that was copied before the end or the damage; 0 if none was.
long Salvager::copySpan(const std::string& table, int columns, long run, const std::string& where)
{
    long last = 0;
    SQLite::Statement insert(to_, insertInto(table, columns));
    try {
        SQLite::Statement row(from_, "SELECT * FROM " + table + " WHERE run = ? " + where);
        row.bind(1, static_cast<int64_t>(run));
        while (row.executeStep()) {
            copyColumns(row, insert, columns);
            last = row.getColumn(1).getInt64();
        }
    } catch (const SQLite::Exception&) {
        return last > 0 ? -last : -1;
    }
    return last;
}

Salvager::Rows Salvager::copyRows(const std::string& table, int columns, long run)
{
    const long forward = copySpan(table, columns, run, "ORDER BY 1, 2");
    const char* second = table == "channels" ? "channel" : "seq";
    if (forward < 0) {
        copySpan(table, columns, run, std::string("ORDER BY 1, ") + second + " DESC");
        // Single rows between the two breaks, while anything is found.
        constexpr long mostMisses = 5000, mostRows = 200'000;
        long misses = 0;
        for (long seq = -forward; misses < mostMisses && seq < -forward + mostRows; ++seq)
            misses =
                copySpan(table, columns, run, "AND " + std::string(second) + " = " + std::to_string(seq)) > 0
                    ? 0
                    : misses + 1;
    }
    Rows rows;
    SQLite::Statement count(to_, "SELECT count(DISTINCT " + std::string(second) + "), coalesce(max(" +
                                     second + "), 0) FROM " + table + " WHERE run = ?");
    count.bind(1, static_cast<int64_t>(run));
    count.executeStep();
    rows.copied = count.getColumn(0).getInt64();
    rows.highestSeq = count.getColumn(1).getInt64();
    return rows;
}

std::optional<std::string> Salvager::text(const char* column, long run)
{
    try {
        SQLite::Statement row(from_, std::string("SELECT ") + column + " FROM runs WHERE run = ?");
        row.bind(1, static_cast<int64_t>(run));
        if (row.executeStep() && !row.getColumn(0).isNull())
            return row.getColumn(0).getString();
    } catch (const SQLite::Exception&) {
    }
    return std::nullopt;
}

bool Salvager::copyRun(long run, bool leftTrace)
{
    const std::optional<std::string> key = text("key", run);
    if (!key && !leftTrace)
        return false;
    SQLite::Statement insert(to_, "INSERT OR IGNORE INTO runs VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)");
    insert.bind(1, static_cast<int64_t>(run));
    insert.bind(2, key.value_or("salvaged-" + std::to_string(run)));
    int place = 3;
    for (const auto& [column, required] : {std::pair{"started_utc", true},
                                           {"ended_utc", false},
                                           {"title", true},
                                           {"plan", true},
                                           {"plate_link", true},
                                           {"outcome", false},
                                           {"outcome_text", false}}) {
        const std::optional<std::string> value = text(column, run);
        if (value || required)
            insert.bind(place, value.value_or(""));
        else
            insert.bind(place);
        ++place;
    }
    insert.exec();
    return key.has_value();
}

long Salvager::copyBenchEvents()
{
    long copied = 0;
    SQLite::Statement insert(to_, insertInto("bench_events", 5));
    try {
        SQLite::Statement row(from_, "SELECT * FROM bench_events ORDER BY seq");
        while (row.executeStep())
            copied += copyColumns(row, insert, 5);
    } catch (const SQLite::Exception&) {
    }
    return copied;
}

Salvaged Salvager::work()
{
    Salvaged all;
    long last = 0;
    for (const char* table : {"runs", "samples", "events"})
        last =
            std::max(last, highest(std::string("SELECT run FROM ") + table + " ORDER BY run DESC LIMIT 1"));
    constexpr long mostRuns = 100'000; // a damaged number must not make this endless
    last = std::min(last, mostRuns);
    // The far end may be what is broken.
    for (long run = last + 1, misses = 0; misses < 100; ++run)
        if (highest("SELECT seq FROM samples WHERE run = ? LIMIT 1", run) > 0 || text("key", run))
            last = run, misses = 0;
        else
            ++misses;
    for (long run = 1; run <= last; ++run) {
        const Rows samples = copyRows("samples", 11, run);
        const Rows events = copyRows("events", 6, run);
        copyRows("channels", 3, run);
        copyRows("channel_values", 4, run);
        const bool leftTrace = samples.copied > 0 || events.copied > 0;
        const bool known = copyRun(run, leftTrace);
        if (!known && !leftTrace)
            continue;
        ++all.runsFound;
        all.runs += known && samples.copied == samples.highestSeq;
        all.samples += samples.copied;
        all.samplesFound += samples.highestSeq;
        all.events += events.copied;
    }
    all.events += copyBenchEvents();
    return all;
}

} // namespace

Salvaged salvageRows(SQLite::Database& damaged, SQLite::Database& fresh)
{
    return Salvager(damaged, fresh).work();
}

} // namespace stripwright
