#pragma once

#include "loop/bench_latch.h"
#include "loop/control_loop.h"
#include "loop/idle_watch.h"
#include "loop/rings.h"
#include "loop/standstill.h"
#include "loop/wake_up.h"

#include <atomic>
#include <thread>

namespace stripwright {

struct ControlThreadSettings {
    double periodS = 0.2; ///< Plant time.
    double plantSPerWallS = 1;
    /// Written one byte at the end of every completed cycle, and each half second while the next one is
    /// waited for; -1: no guardian.
    int heartbeat = -1;
    /// Set by a signal: heat ends and the run with it, even if nobody takes messages any more.
    const std::atomic<int>* stopSignal = nullptr;
    double (*asleepS)() = stripwright::asleepS; ///< Since boot.
};

/// The one thread that talks to the plate: a cycle at every absolute deadline of the monotonic clock, idle or
/// in a run, and one more at once for a stop. Asks for real-time priority and goes on without. Watches the
/// threads that take messages and write the log, as the guardian watches this one.
class ControlThread {
public:
    ControlThread(Plate& plate, Rings& rings, const ControlThreadSettings& settings);
    ~ControlThread(); ///< Ends after the cycle at hand, and sends the heater off once more.

    // For the desk's thread.
    void begin(std::unique_ptr<ControlLoop> run); ///< Takes over a run. Only while not busy().
    bool busy() const { return busy_; }           ///< From begin() until the run's last cycle is over.
    bool guardianGone() const { return guardianGone_; }
    ControlLoop* run() { return busy_ ? owned_.get() : nullptr; } ///< Lives at least until the next begin().
    Plate& plate() { return plate_; } ///< For the run to be handed over; only this thread calls it.
    void setLogFailing(bool failing) { logFailing_ = failing; }
    void acknowledgeTrip() { acknowledge_ = true; }
    void resetTrip() { reset_ = true; }
    /// Cycles begun so far: a record with a higher count has seen all that was asked before this call.
    long cyclesBegun() const { return cyclesBegun_; }

    /// Heater off at once, in any state, a run or not. The record whose stopTaken has reached
    /// the returned number is of a cycle that has acted on it.
    long requestStop();

private:
    void work();
    void oneCycle(double nowS);
    void heaterOff(double nowS);
    void takeStops(double nowS);
    void takeTripCommands();
    void takeRemarks();
    void watchCompany();
    void watchSleep(double nowS);
    bool sleptUntil(double deadlineS);
    void beat();
    [[gnu::format(printf, 4, 5)]] void say(EventKind kind, Severity severity, const char* format, ...);

    Plate& plate_;
    Rings& rings_;
    const ControlThreadSettings settings_;
    IdleWatch idle_;
    BenchLatch latch_;
    WakeUp wakeUp_;
    std::unique_ptr<ControlLoop> owned_; // freed by the desk's thread alone, once not busy
    std::atomic<ControlLoop*> handedOver_ = nullptr;
    std::atomic<bool> busy_ = false, logFailing_ = false, quit_ = false, acknowledge_ = false, reset_ = false;
    std::atomic<long> stopsAsked_ = 0, cyclesBegun_ = 0;

    // Of the thread alone.
    std::optional<CycleRecord> owedEnd_; // the log has had no room for it yet
    ControlLoop* run_ = nullptr;
    std::array<LoopEvent, 4> idleSaid_{}; // by this thread while no run is on
    int idleSaidCount_ = 0;
    long stopsTaken_ = 0;
    bool signalTaken_ = false;
    std::optional<bool> offSent_; // in this cycle; read back?
    double sleptS_ = 0, stepS_ = 0, lastCycleS_ = 0;
    Standstill desk_, log_;
    bool deskGone_ = false, deskSaid_ = false, logStands_ = false, guardianSaid_ = false;
    std::atomic<bool> guardianGone_ = false;

    std::thread thread_;
};

} // namespace stripwright
