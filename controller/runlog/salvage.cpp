#include "runlog/salvage.h"

#include "runlog/salvaged_rows.h"
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
    std::string words = std::to_string(runsFound) + (runsFound == 1 ? " run, " : " runs, ") +
                        std::to_string(samples) + (samples == 1 ? " sample" : " samples");
    if (samplesFound > samples)
        words += " (the file says that " + std::to_string(samplesFound) + " were written)";
    return words;
}

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
        const Salvaged salvaged = salvageRows(damaged, fresh);
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

// Complete, and not yet under the log's name.
static std::filesystem::path freshOf(const std::filesystem::path& file)
{
    return file.string() + "-salvaged";
}

// Its write-ahead file first: once the log itself has two names, all of it has. Some disks know no second
// names, those get a copy.
static void keepBeside(const std::filesystem::path& file, const std::filesystem::path& beside)
{
    std::error_code error;
    if (std::filesystem::exists(file.string() + "-wal"))
        std::filesystem::create_hard_link(file.string() + "-wal", beside.string() + "-wal", error);
    if (!error)
        std::filesystem::create_hard_link(file, beside, error);
    if (!error)
        return;
    removeDatabase(beside);
    copyWithWal(file, beside);
}

// There is a log under that name at every moment. A write-ahead file must never meet another log.
static void takeFresh(const std::filesystem::path& file)
{
    std::error_code error;
    for (const char* suffix : {"-wal", "-shm"})
        std::filesystem::remove(file.string() + suffix, error);
    std::filesystem::rename(freshOf(file), file, error);
    if (error)
        throw RunLogError(freshOf(file).string() + ": cannot be renamed to " + file.string() + " (" +
                          error.message() + "); rename it by hand");
}

std::string finishReplacing(const std::filesystem::path& file)
{
    std::error_code error;
    if (!std::filesystem::exists(freshOf(file), error))
        return {};
    const bool missing = !std::filesystem::exists(file, error);
    if (!missing && std::filesystem::hard_link_count(file, error) < 2)
        return {}; // not put aside yet
    takeFresh(file);
    return file.string() + ": was damaged, and the computer stopped while that was mended; what could be "
                           "saved stands there now, the damaged file is kept beside it under a name with "
                           "\"damaged\"";
}

std::string replaceDamaged(const std::filesystem::path& file, const FileHealth& health)
{
    const std::filesystem::path beside =
        file.parent_path() / (file.stem().string() + "-damaged-" + stampNow() + file.extension().string());
    const std::filesystem::path unfinished = freshOf(file).string() + "-unfinished";
    removeDatabase(unfinished);
    removeDatabase(freshOf(file));
    const Salvaged salvaged = salvage(file, unfinished);
    try {
        std::filesystem::rename(unfinished, freshOf(file));
        keepBeside(file, beside);
    } catch (const std::filesystem::filesystem_error& error) {
        throw RunLogError(file.string() + ": is damaged (" + health.fault + ") and cannot be put aside (" +
                          error.code().message() + "); name another file");
    }
    takeFresh(file);
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
