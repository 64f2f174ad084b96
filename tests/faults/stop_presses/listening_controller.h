#pragma once

#include "messages/messages.h"

#include <QString>
#include <QTemporaryDir>

#include <atomic>
#include <map>
#include <mutex>
#include <thread>

namespace stripwright::test {

double monotonicMs();

/// A controller in a thread of its own that heats when told to start, tells its samples at 10 Hz, and notes
/// when each stop arrives: whatever the window's thread does meanwhile does not delay the note.
class ListeningController {
public:
    ListeningController();
    ~ListeningController();

    QString socketPath() const { return folder_.filePath("talk"); }
    /// When the first stop after `sinceMs` came in; nothing yet: 0.
    double stopAfter(double sinceMs) const;
    void heatAgain() { heating_ = true; }               ///< As though no stop had come.
    void samplesSoFar(long count) { backlog_ = count; } ///< Said at the start of the run, all at once.

private:
    void serve();
    void take(const std::string& line);
    void tell(int peer, const Message& message);

    QTemporaryDir folder_;
    int server_ = -1;
    std::atomic<bool> ends_ = false, heating_ = false, runs_ = false;
    std::atomic<long> backlog_ = 0, stopId_ = 0;
    mutable std::mutex guard_;
    std::vector<double> stopsMs_;
    std::map<int, std::string> peers_; // descriptor and what came in so far
    long seq_ = 0;
    std::thread thread_;
};

} // namespace stripwright::test
