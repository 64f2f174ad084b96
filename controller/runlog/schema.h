#pragma once

#include "runlog/run_log.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace stripwright {

// runs(run, key, started_utc, ended_utc, title, plan, plate_link, outcome, outcome_text)
// samples(run, seq, time_s, ...), events(run, seq, ...), channels(run, channel, name),
// channel_values(run, seq, channel, value). A value that is absent or no number is NULL.
// Since version 2: bench_events(seq, at_utc, kind, severity, text), what happened while no run was on.

constexpr unsigned applicationId = 0x53747277; ///< "Strw", tells our files from other SQLite files.

/// Makes the tables in an empty file, adds what a file of an earlier version lacks. Throws RunLogError if the
/// file is another program's or of a later version.
void makeSchema(SQLite::Database& database, const std::filesystem::path& file);

/// The tables that every version has, made in the order that gives each the same place in the file.
void makeFirstSchema(SQLite::Database& database);

/// Returns the version. Throws RunLogError unless the file holds the tables of this or an earlier one.
int checkSchema(SQLite::Database& database, const std::filesystem::path& file);

} // namespace stripwright
