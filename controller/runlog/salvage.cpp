#include "runlog/salvage.h"

#include "runlog/schema.h"

#include <array>
#include <chrono>
#include <cstring>
#include <ctime>
#include <fstream>
#include <sqlite3.h>

namespace stripwright {

using Clock = std::chrono::steady_clock;

static constexpr std::string_view sqliteStart{"SQLite format 3\0", 16};
static constexpr size_t applicationIdAt = 68;
static constexpr int busyTimeoutMs = 2000;

static constexpr std::array tables{"runs", "samples", "events", "channels", "channel_values"};

static std::string firstBytes(const std::filesystem::path& file, size_t count)
{
    std::ifstream in(file, std::ios::binary);
    std::string bytes(count, '\0');
    in.read(bytes.data(), static_cast<std::streamsize>(count));
    bytes.resize(static_cast<size_t>(in.gcount()));
    return bytes;
}

static bool startsAsSqlite(const std::filesystem::path& file)
{
    return firstBytes(file, sqliteStart.size()) == sqliteStart;
}

// The mark of our files is looked for by hand: the first page may be beyond SQLite's reading.
static bool bearsOurMark(const std::filesystem::path& file)
{
    const std::string start = firstBytes(file, applicationIdAt + 4);
    if (start.size() < applicationIdAt + 4)
        return false;
    unsigned mark = 0;
    for (size_t i = 0; i < 4; ++i)
        mark = mark << 8 | static_cast<unsigned char>(start[applicationIdAt + i]);
    return mark == applicationId;
}

static bool isDamage(const SQLite::Exception& error)
{
    const int code = error.getErrorCode() & 0xff;
    return code == SQLITE_CORRUPT || code == SQLITE_NOTADB || code == SQLITE_IOERR || code == SQLITE_ERROR;
}

static SQLite::Database openUntouched(const std::filesystem::path& file)
{
    SQLite::Database database(file.string(), SQLite::OPEN_READWRITE, busyTimeoutMs);
    sqlite3_db_config(database.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
    database.exec("PRAGMA mmap_size = 0");
    return database;
}

static void askForTables(SQLite::Database& database)
{
    for (const char* table : tables)
        SQLite::Statement(database, std::string("SELECT * FROM ") + table);
}

FileHealth healthOf(const std::filesystem::path& file, double withinS)
{
    auto deadline =
        Clock::now() + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(withinS));
    FileHealth health;
    try {
        SQLite::Database database = openUntouched(file);
        if (database.execAndGet("SELECT count(*) FROM sqlite_master").getInt() == 0 && !bearsOurMark(file))
            return health; // empty: to be made
        checkSchema(database, file);
        askForTables(database);
        sqlite3_progress_handler(
            database.getHandle(), 1000,
            [](void* until) { return Clock::now() > *static_cast<Clock::time_point*>(until) ? 1 : 0; },
            &deadline);
        SQLite::Statement check(database, "PRAGMA integrity_check(1)");
        check.executeStep();
        const std::string found = check.getColumn(0).getString();
        if (found != "ok")
            health = {false, true, found};
    } catch (const SQLite::Exception& error) {
        const int code = error.getErrorCode() & 0xff;
        if (code == SQLITE_INTERRUPT)
            health.whole = false;
        else if (code == SQLITE_BUSY || code == SQLITE_LOCKED)
            throw RunLogError(file.string() + ": another program has locked this run log (" + error.what() +
                              "); end that program or name another file");
        else if (isDamage(error) && bearsOurMark(file))
            health = {false, true, error.what()};
        else if (isDamage(error))
            throw RunLogError(file.string() +
                              ": found a file that is no run log, expected one of Stripwright (" +
                              error.what() + "); name another file");
        else
            throw RunLogError(file.string() + ": cannot be read as a run log (" + error.what() +
                              "); check the rights of this file and its folder");
    }
    return health;
}

std::string Salvaged::inWords() const
{
    return std::to_string(runs) + " of " + std::to_string(runsFound) +
           (runsFound == 1 ? " run, " : " runs, ") + std::to_string(samples) + " of " +
           std::to_string(samplesFound) + (samplesFound == 1 ? " sample" : " samples");
}

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
    void copyBenchEvents();
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

void Salvager::copyBenchEvents()
{
    SQLite::Statement insert(to_, insertInto("bench_events", 5));
    try {
        SQLite::Statement row(from_, "SELECT * FROM bench_events ORDER BY seq");
        while (row.executeStep())
            copyColumns(row, insert, 5);
    } catch (const SQLite::Exception&) {
    }
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
    copyBenchEvents();
    return all;
}

} // namespace

static void copyWithWal(const std::filesystem::path& from, const std::filesystem::path& to)
{
    std::filesystem::copy_file(from, to);
    if (std::filesystem::exists(from.string() + "-wal"))
        std::filesystem::copy_file(from.string() + "-wal", to.string() + "-wal");
}

static void removeDatabase(const std::filesystem::path& file)
{
    std::error_code error;
    for (const char* suffix : {"", "-wal", "-shm", "-journal"})
        std::filesystem::remove(file.string() + suffix, error);
}

// Every file has its tables in the same order from its second page on, whatever else is in it, so the first
// page of an empty one is as good a list of them.
static void replaceFirstPage(const std::filesystem::path& file)
{
    const std::filesystem::path model = file.string() + "-model";
    removeDatabase(model);
    {
        SQLite::Database database(model.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
        makeFirstSchema(database);
        database.exec("PRAGMA journal_mode = WAL");
    }
    std::string page = firstBytes(model, 4096);
    removeDatabase(model);
    std::fill_n(page.begin() + 28, 4, '\0'); // pages in the file: SQLite then counts them itself
    std::fill_n(page.begin() + 32, 8, '\0'); // no list of free pages
    std::fstream out(file, std::ios::binary | std::ios::in | std::ios::out);
    out.write(page.data(), static_cast<std::streamsize>(page.size()));
}

static bool tablesReadable(const std::filesystem::path& file)
{
    try {
        SQLite::Database database = openUntouched(file);
        askForTables(database);
        return true;
    } catch (const SQLite::Exception&) {
        return false;
    }
}

Salvaged salvage(const std::filesystem::path& from, const std::filesystem::path& to)
{
    std::error_code error;
    if (std::filesystem::exists(to, error))
        throw RunLogError(to.string() + ": exists; name a new file");
    const std::filesystem::path copy = to.string() + "-in-work";
    removeDatabase(copy);
    try {
        copyWithWal(from, copy);
        if (!startsAsSqlite(copy) || !tablesReadable(copy))
            replaceFirstPage(copy);
        SQLite::Database damaged = openUntouched(copy);
        SQLite::Database fresh(to.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, busyTimeoutMs);
        fresh.exec("PRAGMA synchronous = FULL");
        makeSchema(fresh, to);
        SQLite::Transaction transaction(fresh);
        const Salvaged salvaged = Salvager(damaged, fresh).work();
        transaction.commit();
        removeDatabase(copy);
        return salvaged;
    } catch (const std::exception& failure) {
        removeDatabase(copy);
        removeDatabase(to);
        throw RunLogError(to.string() + ": what can be read of " + from.string() + " cannot be saved here (" +
                          failure.what() + "); free some space or name another file");
    }
}

static std::string stampNow()
{
    const std::time_t now = std::time(nullptr);
    std::tm parts{};
    gmtime_r(&now, &parts);
    char text[32];
    std::strftime(text, sizeof text, "%Y%m%d%H%M%S", &parts);
    return text;
}

std::string replaceDamaged(const std::filesystem::path& file, const FileHealth& health)
{
    const std::filesystem::path beside =
        file.parent_path() / (file.stem().string() + "-damaged-" + stampNow() + file.extension().string());
    const std::filesystem::path fresh = file.string() + "-salvaged";
    removeDatabase(fresh);
    const Salvaged salvaged = salvage(file, fresh);
    std::error_code error;
    // The database goes first: without it SQLite drops a write-ahead file that is left.
    std::filesystem::rename(file, beside, error);
    if (error)
        throw RunLogError(file.string() + ": is damaged (" + health.fault + ") and cannot be put aside (" +
                          error.message() + "); name another file");
    std::filesystem::rename(file.string() + "-wal", beside.string() + "-wal", error);
    std::filesystem::remove(file.string() + "-shm", error);
    std::filesystem::rename(fresh, file, error);
    if (error)
        throw RunLogError(fresh.string() + ": cannot be renamed to " + file.string() + " (" +
                          error.message() + "); rename it by hand");
    return file.string() + ": was damaged (" + health.fault + "); " + salvaged.inWords() +
           " could be saved, the damaged file is kept as " + beside.string();
}

void copyRunLog(const std::filesystem::path& from, const std::filesystem::path& to)
{
    std::error_code error;
    if (std::filesystem::exists(to, error))
        throw RunLogError(to.string() + ": exists; name a new file");
    try {
        SQLite::Database source(from.string(), SQLite::OPEN_READONLY, busyTimeoutMs);
        sqlite3_db_config(source.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
        checkSchema(source, from);
        SQLite::Database copy(to.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE, busyTimeoutMs);
        sqlite3_backup* backup = sqlite3_backup_init(copy.getHandle(), "main", source.getHandle(), "main");
        if (!backup)
            throw SQLite::Exception(copy.getHandle());
        // In one step: rows that are written meanwhile would make it begin again.
        int result = SQLITE_BUSY;
        for (int n = 0; n < 20 && (result == SQLITE_BUSY || result == SQLITE_LOCKED); ++n) {
            result = sqlite3_backup_step(backup, -1);
            if (result == SQLITE_BUSY || result == SQLITE_LOCKED)
                sqlite3_sleep(100);
        }
        sqlite3_backup_finish(backup);
        if (result != SQLITE_DONE)
            throw SQLite::Exception("copying stopped", result);
    } catch (const SQLite::Exception& failure) {
        removeDatabase(to);
        throw RunLogError(to.string() + ": " + from.string() + " cannot be copied there (" + failure.what() +
                          "); check the free space and the rights of this folder");
    }
}

} // namespace stripwright
