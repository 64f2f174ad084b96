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

/// Something that happened while no run was on.
struct BenchEvent {
    std::string atUtc;
    std::string kind, severity, text; ///< As an Event's.
};

/// How much of a run's samples is safe.
struct KeptSamples {
    long taken = 0;  ///< Given to the writer.
    long onDisk = 0; ///< Committed.
    long dropped =
        0; ///< Gone for good: thinned out while the disk took nothing for longer than memory lasts.
};

/// Writes runs into one SQLite file, in WAL with synchronous FULL. One writer, one thread. Rows are keyed
/// (run, seq) and inserted idempotently. A run without an outcome is one whose controller died: openers mark
/// it Interrupted.
///
/// The whole run stays in memory until its end is on disk: 36 000 samples (2 h at 5 Hz). Beyond that, samples
/// that are on disk leave memory; if none are, every second one of the older half is dropped and counted.
/// Events are never dropped.
///
/// A full disk: 4 MiB are held in a file beside the log ("<log>.reserve") while a run is open. They are freed
/// for the events and the end; samples wait in memory until there is room again or the end is safe.
///
/// A disk that fails (an fsync that failed is not tried again, it would prove nothing): the run is written
/// anew from memory into "<log>-<run key>" beside the old file, and what follows goes there as well. The old
/// file is not touched again.
///
/// A damaged file is never written to: it is kept as "<log>-damaged-<time>", and what can be read of it is
/// copied into a new file under the old name.
class RunWriter {
public:
    /// Creates the file if need be, needs 50 MiB free, looks for at most 2 s whether the file is sound, marks
    /// runs without outcome as interrupted. Throws RunLogError; within 3 s if another program has locked the
    /// file.
    explicit RunWriter(const std::filesystem::path& file);
    ~RunWriter(); ///< Tries once more to write what is left.

    /// Starts a run and commits it at once; returns its key. Needs 50 MiB free.
    std::string begin(const std::string& planText, const std::string& plateLinkText,
                      const std::string& startedUtc);
    void add(const Sample& sample); ///< Kept until the next commit().
    void add(const Event& event);
    void add(const BenchEvent& event); ///< A run or not. The newest 256 are kept until they are on disk.

    /// One transaction. Throws RunLogError if anything is not on disk then; it stays and is tried again.
    void commit();

    /// Commits, and closes the run when all of it is on disk. If it throws, the run stays open and end() is
    /// to be called again; the outcome may be on disk already, with the number of samples that are.
    void end(Outcome outcome, const std::string& text, const std::string& endedUtc);

    KeptSamples kept() const; ///< Of the open or last run.

    /// The file that is written now: not always the one that was named, see above.
    const std::filesystem::path& file() const;

    /// What a person should hear (a damaged file was replaced, the run goes on in another file), once.
    std::vector<std::string> takeNews();

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

/// Reads runs, read-only; sees committed rows of a run in progress. Own connection: one per thread. A run
/// that went on in another file is read by naming that file.
class RunReader {
public:
    explicit RunReader(const std::filesystem::path& file); ///< Throws RunLogError.
    ~RunReader();
    std::vector<RunSummary> runs() const;           ///< Newest first.
    RecordedRun read(const std::string& key) const; ///< Throws RunLogError if there is no such run.
    std::vector<BenchEvent> benchEvents() const;    ///< Oldest first; none in a file of version 1.

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
