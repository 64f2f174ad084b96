#pragma once

#include "loop/control_thread.h"
#include "loop/log_thread.h"
#include "loop/pending_start.h"
#include "messages/message_server.h"

#include <atomic>
#include <chrono>

namespace stripwright {

struct DeskSettings {
    LoopSettings loop;
    std::string plateLinkText;             ///< Kept with every run.
    std::vector<std::string> channelNames; ///< Of the plate's further channels.
    double giveUpLeavingS = 10;            ///< Without heater off and the run on disk.
};

/// Carries out what windows and terminals ask for, and tells them what goes on: samples at 20 Hz at most,
/// every event, the state at 4 Hz and at every change, a heartbeat at 2 Hz. Nothing that it is asked makes it
/// wait: a stop is handed on in the turn in which it comes.
class RunDesk {
public:
    RunDesk(MessageServer& server, ControlThread& control, LogThread& log, Rings& rings,
            DeskSettings settings);

    /// Serves until Shutdown or until `stopSignal` is set, with the heater read back off and the run on disk.
    /// Returns the exit code: 0, 6 when a signal ended a run, 8 when the run's end could not be written, 1
    /// when the heater could not be confirmed off, 5 when the plate is gone that was off before.
    int serve(const std::atomic<int>& stopSignal);

    bool heaterConfirmedOff() const { return latest_.heater == HeaterState::OffConfirmed; }
    /// No run is on and the plate does not answer, but it was read back off before.
    bool goneWhileOff() const;

private:
    using Clock = std::chrono::steady_clock;

    void carryOut(const MessageServer::Received& received);
    std::string whyNotCarriedOut(const MessageServer::Received& received);
    void stopHeating(int client, long id);
    std::string whyNotStarted(const MessageServer::Received& received);
    std::string whyNotAcknowledged();
    std::string whyNotReset();
    std::string whyNotNoted(const std::string& text);
    std::string whyNotTaken(const SolderMark& mark);
    std::string whyNotShutDown();
    void leave(bool signalled);
    void lookAtStart();
    void takeRecords();
    void tellEvent(Event event);
    void answerStops();
    void tell();
    Status status() const;

    MessageServer& server_;
    ControlThread& control_;
    LogThread& log_;
    Rings& rings_;
    const DeskSettings settings_;

    struct AskedStop {
        long number = 0; // of the control thread
        int client = 0;
        long id = 0;
    };

    std::unique_ptr<PendingStart> start_;
    std::vector<std::string> cardIds_; // of the current or last run
    std::string runKey_;
    CycleRecord latest_;
    std::vector<AskedStop> stops_; // not answered yet
    long stopTaken_ = 0;
    long acknowledgedInCycle_ = -1;
    long eventSeq_ = 0;                 // of all that leaves here, runs and idle time
    std::optional<CycleRecord> ended_;  // last record of the last run
    std::optional<CycleRecord> sample_; // newest not sent yet
    Status told_;
    Clock::time_point lastHeartbeat_, nextHeartbeat_, nextStatus_, nextSample_;
    bool leaving_ = false, stoppedInRun_ = false;
    std::optional<Clock::time_point> giveUpLeaving_;
};

} // namespace stripwright
