#pragma once

#include "runlog/run_log.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace stripwright {

// runs(run, key, started_utc, ended_utc, title, plan, plate_link, outcome, outcome_text)
// samples(run, seq, time_s, ...), events(run, seq, ...), channels(run, channel, name),
// channel_values(run, seq, channel, value). A value that is absent or no number is NULL.

/// Makes the tables in an empty file. Throws RunLogError if the file is another program's or of another
/// version.
void makeSchema(SQLite::Database& database, const std::filesystem::path& file);

/// Throws RunLogError unless the file holds the tables of this version.
void checkSchema(SQLite::Database& database, const std::filesystem::path& file);

} // namespace stripwright
