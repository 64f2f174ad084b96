#pragma once

#include "messages/messages.h"

#include <filesystem>
#include <memory>
#include <stdexcept>

namespace stripwright {

/// Cannot write, no space, not a run log: with the path and what to do.
struct RunLogError : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// Writes runs into one SQLite file, in WAL with synchronous FULL. One writer, one thread. Rows are keyed
/// (run, seq) and inserted idempotently. A run without an outcome is one whose controller died: openers mark
/// it Interrupted.
class RunWriter {
public:
    /// Creates the file if need be, needs 50 MiB free, marks runs without outcome as interrupted. Throws
    /// RunLogError.
    explicit RunWriter(const std::filesystem::path& file);
    ~RunWriter();

    /// Starts a run and commits it at once; returns its key.
    std::string begin(const std::string& planText, const std::string& plateLinkText,
                      const std::string& startedUtc);
    void add(const Sample& sample); ///< Kept until the next commit().
    void add(const Event& event);
    void commit(); ///< One transaction. Throws RunLogError; what was added stays and is tried again.
    void end(Outcome outcome, const std::string& text, const std::string& endedUtc); ///< Commits.

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

struct RunSummary {
    std::string key;
    std::string startedUtc, endedUtc;
    std::string title;              ///< Of the sheet in the plan.
    std::optional<Outcome> outcome; ///< None: still being written, or its controller died.
    std::string outcomeText;
    long samples = 0;
};

struct RecordedRun {
    RunSummary summary;
    std::string planText, plateLinkText;
    std::vector<Sample> samples; ///< In seq order.
    std::vector<Event> events;
};

/// Reads runs, read-only; sees committed rows of a run in progress. Own connection: one per thread.
class RunReader {
public:
    explicit RunReader(const std::filesystem::path& file); ///< Throws RunLogError.
    ~RunReader();
    std::vector<RunSummary> runs() const;           ///< Newest first.
    RecordedRun read(const std::string& key) const; ///< Throws RunLogError if there is no such run.

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
