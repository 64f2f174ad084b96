#pragma once

#include "loop/rings.h"
#include "runlog/run_log.h"

#include <atomic>
#include <condition_variable>
#include <future>
#include <mutex>
#include <thread>

namespace stripwright {

/// The one thread that writes the run log: takes records out of their ring, commits once a second of wall
/// time. When the disk fails it keeps what it has, says so in an event and tries again every second.
class LogThread {
public:
    LogThread(std::unique_ptr<RunWriter> writer, Rings& rings, std::vector<std::string> channelNames);
    ~LogThread(); ///< Writes what is left.

    /// Starts a run and waits until it is on disk. Throws RunLogError. From the desk's thread, while no run
    /// is open.
    std::string begin(const std::string& planText, const std::string& plateLinkText);

    bool failing() const { return failing_; } ///< The last commit failed.
    bool runOpen() const { return runOpen_; } ///< A run has begun and its end is not on disk yet.

private:
    struct Begin {
        std::string planText, plateLinkText;
        std::promise<std::string> key;
    };
    void work();
    void drain();
    void commit();
    void remark(Severity severity, const std::string& text);

    std::unique_ptr<RunWriter> writer_;
    Rings& rings_;
    const std::vector<std::string> channelNames_;
    std::mutex mutex_;
    std::condition_variable wake_;
    std::optional<Begin> begin_;
    std::optional<CycleRecord> end_; // last record of the run, until it is on disk
    std::string endedUtc_;
    std::atomic<bool> failing_ = false, runOpen_ = false;
    bool quit_ = false;
    std::thread thread_;
};

} // namespace stripwright
