#include "runlog/schema.h"

namespace stripwright {

static constexpr int applicationId = 0x53747277; // "Strw", tells our files from other SQLite files
static constexpr int schemaVersion = 1;

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

static int pragma(SQLite::Database& database, const char* name)
{
    return database.execAndGet(std::string("PRAGMA ") + name).getInt();
}

void makeSchema(SQLite::Database& database, const std::filesystem::path& file)
{
    if (database.execAndGet("SELECT count(*) FROM sqlite_master").getInt() == 0) {
        SQLite::Transaction transaction(database);
        database.exec(tables);
        database.exec("PRAGMA application_id = " + std::to_string(applicationId));
        database.exec("PRAGMA user_version = " + std::to_string(schemaVersion));
        transaction.commit();
    }
    checkSchema(database, file);
}

void checkSchema(SQLite::Database& database, const std::filesystem::path& file)
{
    if (pragma(database, "application_id") != applicationId)
        throw RunLogError(file.string() +
                          ": found an SQLite file that is no run log, expected one of Stripwright; "
                          "name another file");
    if (const int found = pragma(database, "user_version"); found != schemaVersion)
        throw RunLogError(file.string() + ": found run log version " + std::to_string(found) + ", expected " +
                          std::to_string(schemaVersion) + "; another version of Stripwright wrote this file");
}

} // namespace stripwright
