#include "runlog/schema.h"

namespace stripwright {

static constexpr int schemaVersion = 2;

static constexpr const char* tables = R"sql(
CREATE TABLE runs (
    run INTEGER PRIMARY KEY,
    key TEXT NOT NULL UNIQUE,
    started_utc TEXT NOT NULL,
    ended_utc TEXT,
    title TEXT NOT NULL,
    plan TEXT NOT NULL,
    plate_link TEXT NOT NULL,
    outcome TEXT,
    outcome_text TEXT
);
CREATE TABLE samples (
    run INTEGER NOT NULL REFERENCES runs,
    seq INTEGER NOT NULL,
    time_s REAL, profile_s REAL, sensor_C REAL, reference_C REAL, expected_C REAL, duty REAL,
    joint_low_C REAL, joint_nominal_C REAL, joint_high_C REAL,
    PRIMARY KEY (run, seq)
) WITHOUT ROWID;
CREATE TABLE channels (
    run INTEGER NOT NULL REFERENCES runs,
    channel INTEGER NOT NULL,
    name TEXT NOT NULL,
    PRIMARY KEY (run, channel)
) WITHOUT ROWID;
CREATE TABLE channel_values (
    run INTEGER NOT NULL REFERENCES runs,
    seq INTEGER NOT NULL,
    channel INTEGER NOT NULL,
    value REAL,
    PRIMARY KEY (run, seq, channel)
) WITHOUT ROWID;
CREATE TABLE events (
    run INTEGER NOT NULL REFERENCES runs,
    seq INTEGER NOT NULL,
    time_s REAL, kind TEXT NOT NULL, severity TEXT NOT NULL, text TEXT NOT NULL,
    PRIMARY KEY (run, seq)
) WITHOUT ROWID;
)sql";

static constexpr const char* benchEvents = R"sql(
CREATE TABLE bench_events (
    seq INTEGER PRIMARY KEY,
    at_utc TEXT NOT NULL, kind TEXT NOT NULL, severity TEXT NOT NULL, text TEXT NOT NULL
);
)sql";

static int pragma(SQLite::Database& database, const char* name)
{
    return database.execAndGet(std::string("PRAGMA ") + name).getInt();
}

static void setVersion(SQLite::Database& database)
{
    database.exec("PRAGMA user_version = " + std::to_string(schemaVersion));
}

void makeSchema(SQLite::Database& database, const std::filesystem::path& file)
{
    if (database.execAndGet("SELECT count(*) FROM sqlite_master").getInt() == 0) {
        SQLite::Transaction transaction(database);
        database.exec(tables);
        database.exec(benchEvents);
        database.exec("PRAGMA application_id = " + std::to_string(applicationId));
        setVersion(database);
        transaction.commit();
    }
    if (checkSchema(database, file) == 1) {
        SQLite::Transaction transaction(database);
        database.exec(benchEvents);
        setVersion(database);
        transaction.commit();
    }
}

void makeFirstSchema(SQLite::Database& database)
{
    database.exec(tables);
    database.exec("PRAGMA application_id = " + std::to_string(applicationId));
    database.exec("PRAGMA user_version = 1");
}

int checkSchema(SQLite::Database& database, const std::filesystem::path& file)
{
    if (pragma(database, "application_id") != int(applicationId))
        throw RunLogError(file.string() +
                          ": found an SQLite file that is no run log, expected one of Stripwright; "
                          "name another file");
    const int found = pragma(database, "user_version");
    if (found < 1 || found > schemaVersion)
        throw RunLogError(file.string() + ": found run log version " + std::to_string(found) +
                          ", expected 1 to " + std::to_string(schemaVersion) +
                          "; another version of Stripwright wrote this file");
    return found;
}

} // namespace stripwright
