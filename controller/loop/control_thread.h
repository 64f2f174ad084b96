#pragma once

#include "loop/control_loop.h"
#include "loop/idle_watch.h"
#include "loop/rings.h"

#include <thread>

namespace stripwright {

struct ControlThreadSettings {
    double periodS = 0.2; ///< Plant time.
    double plantSPerWallS = 1;
    int heartbeat = -1; ///< Written one byte at the end of every completed cycle; -1: no guardian.
};

/// The one thread that talks to the plate: a cycle at every absolute deadline of the monotonic clock, idle or
/// in a run. Asks for real-time priority and goes on without.
class ControlThread {
public:
    ControlThread(Plate& plate, Rings& rings, const ControlThreadSettings& settings);
    ~ControlThread(); ///< Ends after the cycle at hand, and sends the heater off once more.

    /// Hands over a run, which must live until busy() is false again. Only while not busy().
    void begin(ControlLoop& run);
    bool busy() const { return busy_; }
    Plate& plate() { return plate_; } ///< For the run to be handed over; only this thread calls it.
    void setLogFailing(bool failing) { logFailing_ = failing; }

private:
    void work();
    void oneCycle(double nowS);

    Plate& plate_;
    Rings& rings_;
    const ControlThreadSettings settings_;
    IdleWatch idle_;
    std::atomic<ControlLoop*> handedOver_ = nullptr;
    std::atomic<bool> busy_ = false, logFailing_ = false, quit_ = false;
    ControlLoop* run_ = nullptr;
    double sleptS_ = 0;
    bool guardianGone_ = false;
    std::thread thread_;
};

} // namespace stripwright
