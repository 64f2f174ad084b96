#pragma once

#include "loop/control_thread.h"
#include "loop/log_thread.h"
#include "messages/message_server.h"

#include <chrono>
#include <csignal>

namespace stripwright {

struct DeskSettings {
    LoopSettings loop;
    std::string plateLinkText;             ///< Kept with every run.
    std::vector<std::string> channelNames; ///< Of the plate's further channels.
};

/// Carries out what windows and terminals ask for, and tells them what goes on: samples at 20 Hz at most,
/// every event, the state at 4 Hz and at every change, a heartbeat at 2 Hz.
class RunDesk {
public:
    RunDesk(MessageServer& server, ControlThread& control, LogThread& log, Rings& rings,
            DeskSettings settings);

    /// Serves until Shutdown or until `stopSignal` is set, with the heater read back off and the run on disk.
    /// Returns the exit code: 0, 6 when a signal ended a run, 8 when the run's end could not be written, 1
    /// when the heater could not be confirmed off.
    int serve(const volatile std::sig_atomic_t& stopSignal);

    bool heaterConfirmedOff() const { return latest_.heater == HeaterState::OffConfirmed; }

private:
    using Clock = std::chrono::steady_clock;

    void carryOut(const MessageServer::Received& received);
    std::string whyNotStarted(const StartRun& start); ///< Starts; empty if it did.
    std::string whyNotShutDown();
    void takeRecords();
    void tell();
    void dropEndedRun();
    Status status() const;

    MessageServer& server_;
    ControlThread& control_;
    LogThread& log_;
    Rings& rings_;
    const DeskSettings settings_;

    std::unique_ptr<ControlLoop> run_; // until the control thread is done with it
    std::vector<std::string> cardIds_; // of the current or last run
    std::string runKey_;
    CycleRecord latest_;
    std::optional<CycleRecord> ended_;  // last record of the last run
    std::optional<CycleRecord> sample_; // newest not sent yet
    Status told_;
    Clock::time_point lastHeartbeat_, nextHeartbeat_, nextStatus_, nextSample_;
    bool leaving_ = false;
    std::optional<Clock::time_point> giveUpLeaving_;
};

} // namespace stripwright
