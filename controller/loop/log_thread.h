#pragma once

#include "loop/note_board.h"
#include "loop/rings.h"
#include "runlog/run_log.h"

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <future>
#include <mutex>
#include <thread>

namespace stripwright {

/// The one thread that writes the run log: takes records out of their ring, commits once a second of wall
/// time. When the disk fails it keeps what it has, says so in an event and tries again every second, after
/// the run's end too, for as long as it lives. Records that never came out of the ring are missed by their
/// seq, counted and said.
class LogThread {
public:
    LogThread(std::unique_ptr<RunWriter> writer, Rings& rings, std::vector<std::string> channelNames);
    ~LogThread(); ///< Tries once more to write what is left.

    /// Starts a run and waits until it is on disk. Throws RunLogError, also when the disk has not answered
    /// within `patience`; the run is then closed as failed when it does. From the desk's thread, while no run
    /// is open.
    std::string begin(const std::string& planText, const std::string& plateLinkText,
                      std::chrono::milliseconds patience = std::chrono::seconds(5));

    /// Keeps what happened while no run was on. From any thread; never waits. False: too many at once, it is
    /// counted and the log says how many.
    bool note(const Event& event) { return notes_.put(event); }

    bool failing() const { return failing_; } ///< Not all that should be on disk is, by the last commit.
    bool runOpen() const { return runOpen_; } ///< A run has begun and its end is not on disk yet.

    /// Samples of the open or last run that are not on disk: waiting in memory (a second's worth is no
    /// trouble), lost in the ring, or thinned out. 0 after an end that is all on disk.
    long missing() const { return missing_; }

    /// What is wrong, where, how many samples of how many are on disk and what to do; empty: nothing.
    std::string trouble() const;

    /// How long the thread has not been heard of. It turns at least every 50 ms; what is longer is a disk
    /// that does not answer.
    std::chrono::milliseconds silentFor() const;

    /// What a person should hear and no run can say (none is on, or it has ended), oldest first.
    std::optional<Event> takeNotice();

private:
    struct Begin {
        std::string planText, plateLinkText;
        std::promise<std::string> key;
    };
    void work();
    void drain();
    void take(const CycleRecord& record);
    void takeNotes();
    void begin(Begin& begin);
    void commit();
    void closeAbandoned();
    void count();
    void say(Severity severity, const std::string& text);
    void sendRemarks();
    void setTrouble(const std::string& text);

    std::unique_ptr<RunWriter> writer_;
    const std::filesystem::path named_; // the file that was asked for
    Rings& rings_;
    const std::vector<std::string> channelNames_;
    NoteBoard notes_;
    long notesLostSaid_ = 0;

    mutable std::mutex mutex_; // of what follows
    std::condition_variable wake_;
    std::optional<Begin> begin_;
    bool beginAbandoned_ = false;
    std::deque<Event> notices_;
    std::string trouble_;
    bool quit_ = false;

    std::optional<CycleRecord> end_; // last record of the run, until it is on disk
    std::string endedUtc_;
    std::deque<Remark> remarks_; // until the control thread has room for them
    long lastSeq_ = 0, lastEventSeq_ = 0, lostInRing_ = 0;
    std::chrono::steady_clock::time_point nextSaid_;
    std::atomic<bool> failing_ = false, runOpen_ = false;
    std::atomic<long> missing_ = 0;
    std::atomic<std::chrono::steady_clock::rep> beat_;
    std::thread thread_;
};

} // namespace stripwright
