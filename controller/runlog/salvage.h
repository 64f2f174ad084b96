#pragma once

#include "runlog/run_log.h"

namespace stripwright {

struct FileHealth {
    bool sound = true;
    bool whole = true; ///< The check came to its end in the time it had.
    std::string fault; ///< First words of what was found.
};

/// Looks through an SQLite file, writing nothing. Throws RunLogError if it is locked, absent, or no run log
/// at all.
FileHealth healthOf(const std::filesystem::path& file, double withinS);

struct Salvaged {
    long runs = 0, runsFound = 0;       ///< Runs with all of their samples, and all that left a trace.
    long samples = 0, samplesFound = 0; ///< Found: at least, counted by the highest seq of each run.
    long events = 0;                    ///< Those between runs, too.
    bool nothing() const { return runsFound == 0 && samples == 0 && events == 0; }
    /// "4 runs, 11204 samples (the file says that 11876 were written)": how many were written at the lost end
    /// of a file nothing says.
    std::string inWords() const;
};

/// Writes what can be read of a damaged run log into a new file. A damaged first page (the list of tables) is
/// replaced on a copy. Values that changed within a page that still makes sense cannot be told from right
/// ones: SQLite keeps no checksums. Throws RunLogError if `to` exists or cannot be written.
Salvaged salvage(const std::filesystem::path& from, const std::filesystem::path& to);

/// The damaged file is kept under a name of its own, what could be read of it stands in a new one under the
/// old name. Returns what a person should hear.
std::string replaceDamaged(const std::filesystem::path& file, const FileHealth& health);

/// Ends a replaceDamaged() in which the computer stopped. Returns what a person should hear; empty: there was
/// none.
std::string finishReplacing(const std::filesystem::path& file);

/// SQLite's online copy: safe while a run is being written. Throws RunLogError if `to` exists, is `from`, or
/// cannot be written.
void copyRunLog(const std::filesystem::path& from, const std::filesystem::path& to);

} // namespace stripwright
